"""Everything of a club as JSON Lines, and back into an empty place on any engine.

First line {"export": "tacticapi", "schema": 1, "club_id", "at", "rulebook"}; then one line a row, {"kind", "row"},
rows before those that point to them; last line {"end": true, "rows"}. Health items are left out, and so is the advice
of a match that goes on while only safety may be read of it. Tokens and answers to repeated requests are no part of it:
the one are keys, the other serve a few days only.
"""

import json
from collections.abc import Callable, Iterator, Set
from dataclasses import replace
from typing import Any

from tacticapi.service.clubs import known_club
from tacticapi.service.codec import encode
from tacticapi.service.desk import Desk
from tacticapi.service.health import Health, health_of
from tacticapi.service.permits import withheld_now
from tacticapi.service.situations import read_kept
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


def export(desk: Desk, club_id: str) -> Iterator[str]:
    """The lines, each with its line break, read as they are asked for from one state of the database.

    Raises NotFound when the first line is asked for.
    """
    with desk.reading(club_id) as work:
        known_club(work)
        rulebook = {"version": desk.rulebook.version, "digest": desk.rulebook.digest}
        yield _line(export=FORMAT, schema=SCHEMA, club_id=club_id, at=encode(desk.now()), rulebook=rulebook)
        rows = 0
        for kind, record in _records(work, health_of(desk.rulebook), _withheld(desk, work)):
            yield _line(kind=kind, row=encode(record))
            rows += 1
        yield _line(end=True, rows=rows)


def _withheld(desk: Desk, work: UnitOfWork) -> set[str]:
    """The ids of matches that go on and of which only safety may be read now."""
    running = (match.id for match in work.matches.find(status="open"))
    return {id for id in running if withheld_now(desk, read_kept(work, id))}


def _records(work: UnitOfWork, health: Health, withheld: Set[str]) -> Iterator[tuple[str, Record]]:
    """Every row that leaves the club; advice of the withheld matches stays, and the feedback on it with it."""
    repositories: tuple[Any, ...] = (
        work.clubs, work.players, work.matches, work.observations,
        work.points, work.tries, work.snapshots, work.feedback,
    )  # fmt: skip
    staying: set[str] = set()
    for kind, repository in zip(KINDS, repositories, strict=True):
        clean = _CLEAN.get(kind)
        for record in repository.stream():
            if isinstance(record, Snapshot) and record.match_id in withheld:
                staying.add(record.id)
            elif not (isinstance(record, Feedback) and record.snapshot_id in staying):
                kept = clean(record, health) if clean else record
                if kept is not None:
                    yield kind, kept


def _match(match: Match, health: Health) -> Match:
    return replace(
        match,
        context=health.without("context", match.context),
        own_facts=health.without("own", match.own_facts),
        opponent_facts=health.without("opponent", match.opponent_facts),
    )


def _observation(entry: ObservationEntry, health: Health) -> ObservationEntry | None:
    return None if entry.kind in health.kinds else entry


def _snapshot(snapshot: Snapshot, health: Health) -> Snapshot:
    return health.stripped(snapshot)


_CLEAN: dict[str, Callable[[Any, Health], Record | None]] = {
    "match": _match,
    "observation": _observation,
    "advice": _snapshot,
}


def _line(**content: Any) -> str:
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"), allow_nan=False) + "\n"
