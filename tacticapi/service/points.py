"""Points of a match: who won each, or the score set by hand; the score follows."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tacticapi.service.codec import decode
from tacticapi.service.desk import Desk
from tacticapi.service.entries import added_once, append, check_correctable, check_open, known_match, new_entry
from tacticapi.service.errors import Refused
from tacticapi.service.once import Done, Once, done
from tacticapi.service.scorekeeping import point_faults, state_after, steps
from tacticapi.store import Match, UnitOfWork


@dataclass(frozen=True, slots=True)
class Scored:
    """What was added, and the score after it: {sets, games, points, server}, None where nothing stands.

    `winner` is who has won the match by this score, None while it is open.
    """

    id: str
    sequence: int
    recorded_at: datetime
    score: Mapping[str, Any] | None
    winner: str | None


def add(
    desk: Desk,
    club_id: str,
    match_id: str,
    body: Mapping[str, Any],
    *,
    supersedes: str | None = None,
    once: Once | None = None,
) -> Scored:
    """Add {winner: own|opponent, own_error?: bool}, or {score: {...}} where the score is set by hand.

    With `supersedes` it stands in the place of that entry, and all later points are played on from it.
    Raises NotFound, IdempotencyConflict; Refused for a point after the match was decided or ended, and for an
    impossible score.
    """
    return _added(desk, (club_id, match_id), body, supersedes, once)


def withdraw(desk: Desk, club_id: str, match_id: str, entry_id: str, *, once: Once | None = None) -> Scored:
    """Take back an entry; later points are played on without it. Raises NotFound, Refused."""
    return _added(desk, (club_id, match_id), None, entry_id, once)


def score(desk: Desk, club_id: str, match_id: str) -> Mapping[str, Any] | None:
    """The score {sets, games, points, server}; None where no point and no score was entered. Raises NotFound."""
    with desk.reading(club_id) as work:
        state = state_after(steps(known_match(work, match_id), work.points.of_match(match_id)))
    return state.to_wire() if state else None


def _added(
    desk: Desk, at: tuple[str, str], body: Mapping[str, Any] | None, supersedes: str | None, once: Once | None
) -> Scored:
    def do(work: UnitOfWork, match: Match) -> Done:
        return done(_append(desk, work, match, body, supersedes))

    return decode(Scored, added_once(desk, *at, once, do))


def _append(
    desk: Desk, work: UnitOfWork, match: Match, body: Mapping[str, Any] | None, supersedes: str | None
) -> Scored:
    check_open(match)
    faults = [] if body is None else point_faults(body)
    if faults:
        raise Refused(faults)
    if supersedes is not None:
        check_correctable(work.points, match, supersedes)
    given = None if body is None else {name: value for name, value in body.items() if value is not None}
    entry = new_entry(match, 1, given, desk.now(), supersedes)
    state = state_after(steps(match, [*work.points.of_match(match.id), entry]))
    append(work, match, work.points, [entry])
    winner = state.winner if state else None
    return Scored(entry.id, entry.sequence, entry.recorded_at, state.to_wire() if state else None, winner)
