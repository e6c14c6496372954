"""Everything of a club as JSON Lines, and the observations and points of a match as CSV (RFC 4180) for a spreadsheet.

First line {"export": "tacticapi", "schema": 1, "club_id", "at", "rulebook"}; then one line a row, {"kind", "row"},
rows before those that point to them; last line {"end": true, "rows"}. Health items are left out, and so is the advice
of a match that goes on while only safety may be read of it. Tokens and answers to repeated requests are no part of it:
the one are keys, the other serve a few days only. Importing reads the lines back, on any engine.
"""

import csv
import io
import json
from collections.abc import Iterable, Iterator, Set
from dataclasses import replace
from typing import Any

from tacticapi.club.clubs import known_club
from tacticapi.club.codec import encode
from tacticapi.club.health import Health, Trail, health_of
from tacticapi.club.services import Services, standing
from tacticapi.club.situations import KeptMatch, read_kept, withheld_now
from tacticapi.store import Club, Entry, Feedback, Match, ObservationEntry, Player, Record, Snapshot, UnitOfWork

FORMAT, SCHEMA = "tacticapi", 1
KINDS: dict[str, type[Record]] = {
    "club": Club,
    "player": Player,
    "match": Match,
    "observation": ObservationEntry,
    "point": Entry,
    "try": Entry,
    "advice": Snapshot,
    "feedback": Feedback,
}
OBSERVATION_COLUMNS = (
    "sequence", "recorded_at", "what", "count", "of", "counts", "rating", "value", "amount", "seen",
    "wing", "court", "serve", "end", "set", "game", "by", "note", "ref",
)  # fmt: skip
POINT_COLUMNS = ("number", "sets", "games", "points", "server", "winner", "own_error")
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def export(services: Services, club_id: str) -> Iterator[str]:
    """Yield the lines of one state of the database. Raises NotFound when the first line is asked for."""
    with services.reading(club_id) as work:
        known_club(work)
        rulebook = {"version": services.rulebook.version, "digest": services.rulebook.digest}
        yield _line(export=FORMAT, schema=SCHEMA, club_id=club_id, at=encode(services.now()), rulebook=rulebook)
        rows = 0
        for kind, record in _records(work, health_of(services.rulebook), _withheld(services, work)):
            yield _line(kind=kind, row=encode(record))
            rows += 1
        yield _line(end=True, rows=rows)


def repositories(work: UnitOfWork) -> dict[str, Any]:
    """Return the repository of each kind, those whose rows others point to first."""
    found: tuple[Any, ...] = (
        work.clubs, work.players, work.matches, work.observations,
        work.points, work.tries, work.snapshots, work.feedback,
    )  # fmt: skip
    return dict(zip(KINDS, found, strict=True))


def _withheld(services: Services, work: UnitOfWork) -> set[str]:
    """Return the ids of matches that go on and of which only safety may be read now."""
    running = (match.id for match in work.matches.find(status="open"))
    return {id for id in running if withheld_now(services, read_kept(work, id))}


def _records(work: UnitOfWork, health: Health, withheld: Set[str]) -> Iterator[tuple[str, Record]]:
    """Yield every row that leaves the club; advice of the withheld matches stays, and the feedback on it with it."""
    staying: set[str] = set()
    trails: dict[str, Trail] = {}
    for kind, repository in repositories(work).items():
        for record in repository.stream():
            if isinstance(record, Snapshot) and record.match_id in withheld:
                staying.add(record.id)
                continue
            if isinstance(record, Snapshot):
                if record.match_id not in trails:  # those of one match come one after another, mostly
                    trails = {record.match_id: health.trail(work.observations.of_match(record.match_id))}
                yield kind, health.stripped(record, trails[record.match_id])
                continue
            on_staying = isinstance(record, Feedback) and record.snapshot_id in staying
            if not on_staying and (kept := _clean(record, health)):
                yield kind, kept


def _clean(record: Record, health: Health) -> Record | None:
    """Return the row without health items; None for one that is a health item as a whole."""
    match record:
        case Match():
            facts = {"context": record.context, "own": record.own_facts, "opponent": record.opponent_facts}
            context, own, opponent = (health.without(subject, given) for subject, given in facts.items())
            return replace(record, context=context, own_facts=own, opponent_facts=opponent)
        case ObservationEntry():
            return health.cleaned(record)
        case Feedback():
            return replace(record, reason=None) if health.speaks_of_health(record.reason) else record
    return record


def _line(**content: Any) -> str:
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"), allow_nan=False) + "\n"


def observations_csv(services: Services, club_id: str, match_id: str) -> Iterator[str]:
    """Return the standing observations of a match, a header first, health items left out. Raises NotFound."""
    kept, health = _read(services, club_id, match_id), health_of(services.rulebook)
    rows = (
        {**(entry.body or {}), "sequence": entry.sequence, "recorded_at": entry.recorded_at.isoformat()}
        for entry in standing(kept.observations)
        if entry.kind not in health.kinds
    )
    return _csv_lines(OBSERVATION_COLUMNS, rows)


def points_csv(services: Services, club_id: str, match_id: str) -> Iterator[str]:
    """Return the standing points of a match with the score before each, a header first. Raises NotFound."""
    rows = (
        {
            **{name: _pairs(value) for name, value in step.before.to_wire().items()},
            "number": number,
            "winner": step.winner or "score set by hand",
            "own_error": step.own_error,
        }
        for number, step in enumerate(_read(services, club_id, match_id).steps, 1)
    )
    return _csv_lines(POINT_COLUMNS, rows)


def _read(services: Services, club_id: str, match_id: str) -> KeptMatch:
    with services.reading(club_id) as work:
        return read_kept(work, match_id)


def _csv_lines(names: tuple[str, ...], rows: Iterable[dict[str, Any]]) -> Iterator[str]:
    yield _csv_line(names)
    for row in rows:
        yield _csv_line([_cell(row.get(name)) for name in names])


def _csv_line(cells: Iterable[str]) -> str:
    text = io.StringIO()
    csv.writer(text).writerow(cells)
    return text.getvalue()


def _cell(value: Any) -> str:
    """Return one cell; a text that a spreadsheet would run as a formula is marked as text."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case dict():
            return "; ".join(f"{option} {chances:g}" for option, chances in value.items())
        case str() if value.startswith(FORMULA_STARTS):
            return f"'{value}"
        case _:
            return str(value)


def _pairs(value: Any) -> Any:
    """Return a score as it is called: sets "6-4 3-6", games "2-1", points "30-40"."""
    if not isinstance(value, list):
        return value
    if value and isinstance(value[0], list):
        return " ".join(f"{own}-{opponent}" for own, opponent in value)
    return "-".join(str(one) for one in value)
