"""The columns of sheets: those of the exports, so that what was exported can be filled on and brought back."""

from collections.abc import Iterator
from typing import Any

from tacticapi.api.sheets.cells import Row, a_number, a_text, a_yes, filled_rows, some_counts
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Phase
from tacticapi.service.facts import PROFILES
from tacticapi.service.sheets import OBSERVATIONS, POINTS

TOLD_OF_OBSERVATIONS = ("asks", "sequence", "recorded_at")
TOLD_OF_POINTS = ("number", "sets", "games", "points", "server")
_READ = {
    **dict.fromkeys(("count", "of", "rating", "amount", "set", "game"), a_number),
    "counts": some_counts,
    "seen": a_yes,
}
SEEN = {name: _READ.get(name, a_text) for name in OBSERVATIONS if name not in TOLD_OF_OBSERVATIONS}
PLAYED = {"winner": a_text, "own_error": a_yes}
_SAID = ("count", "of", "counts", "rating", "value", "amount", "seen", "note")


def observations_of(sheet: bytes) -> list[Row]:
    """The rows in which something is said to have been seen. Ends the request where it is no such sheet."""
    rows = filled_rows(sheet, SEEN, TOLD_OF_OBSERVATIONS, "what")
    return [row for row in rows if any(name in row.cells for name in _SAID)]


def points_of(sheet: bytes) -> list[Row]:
    """The rows with a point. Ends the request where it is no such sheet."""
    return filled_rows(sheet, PLAYED, TOLD_OF_POINTS, "winner")


def observations_template(rulebook: Rulebook, phase: Phase | None) -> Iterator[list[Any]]:
    """A header, and a row to fill for each kind that is posted as an observation, with its question; none of health."""
    header = ["asks", *SEEN]
    yield header
    for kind in rulebook.kinds.values():
        asked = kind.subject not in PROFILES and not kind.health and (phase is None or phase in kind.phases)
        if asked:
            yield [kind.asks, kind.id, *[""] * (len(header) - 2)]


def points_template() -> Iterator[list[Any]]:
    """A header and no row: one row a point is to be filled."""
    yield [name for name in POINTS if name in PLAYED]
