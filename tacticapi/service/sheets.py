"""Observations and points as CSV (RFC 4180), for a spreadsheet."""

import csv
import io
from collections.abc import Iterable, Iterator
from typing import Any

from tacticapi.service.desk import Desk
from tacticapi.service.entries import standing
from tacticapi.service.health import health_of
from tacticapi.service.situations import Kept, read_kept

OBSERVATIONS = (
    "sequence", "recorded_at", "what", "count", "of", "counts", "rating", "value", "amount", "seen",
    "wing", "court", "serve", "end", "set", "game", "by", "note", "ref",
)  # fmt: skip
POINTS = ("number", "sets", "games", "points", "server", "winner", "own_error")
FORMULA = ("=", "+", "-", "@", "\t", "\r")


def observations_csv(desk: Desk, club_id: str, match_id: str) -> Iterator[str]:
    """The standing observations of a match, a header first, health items left out. Raises NotFound."""
    kept, health = _kept(desk, club_id, match_id), health_of(desk.rulebook)
    shown = [entry for entry in standing(kept.observations) if entry.kind not in health.kinds]
    rows = (
        {**(entry.body or {}), "sequence": entry.sequence, "recorded_at": entry.recorded_at.isoformat()}
        for entry in shown
    )
    return _lines(OBSERVATIONS, rows)


def points_csv(desk: Desk, club_id: str, match_id: str) -> Iterator[str]:
    """The standing points of a match with the score before each, a header first. Raises NotFound."""
    rows = (
        {
            **{name: _pairs(value) for name, value in step.before.to_wire().items()},
            "number": number,
            "winner": step.winner or "score set by hand",
            "own_error": step.own_error,
        }
        for number, step in enumerate(_kept(desk, club_id, match_id).steps, 1)
    )
    return _lines(POINTS, rows)


def _kept(desk: Desk, club_id: str, match_id: str) -> Kept:
    with desk.reading(club_id) as work:
        return read_kept(work, match_id)


def _lines(names: tuple[str, ...], rows: Iterable[dict[str, Any]]) -> Iterator[str]:
    yield _line(names)
    for row in rows:
        yield _line([_cell(row.get(name)) for name in names])


def _line(cells: Iterable[str]) -> str:
    text = io.StringIO()
    csv.writer(text).writerow(cells)
    return text.getvalue()


def _cell(value: Any) -> str:
    """One cell; a text that a spreadsheet would run as a formula is marked as text."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case dict():
            return "; ".join(f"{option} {chances:g}" for option, chances in value.items())
        case str() if value.startswith(FORMULA):
            return f"'{value}"
        case _:
            return str(value)


def _pairs(value: Any) -> Any:
    """A score as it is called: sets "6-4 3-6", games "2-1", points "30-40"."""
    if not isinstance(value, list):
        return value
    if value and isinstance(value[0], list):
        return " ".join(f"{own}-{opponent}" for own, opponent in value)
    return "-".join(str(one) for one in value)
