"""The sweep: what has been kept long enough goes, club by club."""

import logging
from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import datetime, timedelta

from tacticapi.advice.safety import JUNIOR
from tacticapi.service.clubs import known_club
from tacticapi.service.desk import Desk
from tacticapi.service.entries import locked_match
from tacticapi.service.matches import end_locked
from tacticapi.service.policy import ANSWERS_KEPT, DEAD_TOKENS_KEPT, OPEN_MATCH
from tacticapi.store import Club, Match, Player, UnitOfWork, club_ids

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Swept:
    """How much went; `ended` counts matches that were still open long after their start and have ended now.

    `failed` counts clubs that could not be swept and stay as they were.
    """

    ended: int = 0
    matches: int = 0
    players: int = 0
    answers: int = 0
    tokens: int = 0
    failed: int = 0


def sweep(desk: Desk) -> Swept:
    """Sweep every club, one unit of work each. A club that fails is logged, and the others are swept."""
    swept = [_swept_or_logged(desk, club_id) for club_id in club_ids(desk.engine)]
    return Swept(*(sum(getattr(one, field.name) for one in swept) for field in fields(Swept)))


def _swept_or_logged(desk: Desk, club_id: str) -> Swept:
    try:
        return sweep_club(desk, club_id)
    except Exception:
        log.exception("a club could not be swept", extra={"club_id": club_id})
        return Swept(failed=1)


def sweep_club(desk: Desk, club_id: str) -> Swept:
    """End forgotten matches; delete matches and idle players past the club's days, and what only served for a while.

    A match with anyone under 18 in it, or of an event for them, goes by the days for under-18s. Raises NotFound.
    """
    with desk.work(club_id) as work:
        club, now = known_club(work), desk.now()
        swept = Swept(
            ended=_end_forgotten(desk, work, now - OPEN_MATCH),
            matches=_delete_matches(work, club, now),
            players=_delete_players(work, club, now),
            answers=work.answers.delete_before(now - ANSWERS_KEPT),
            tokens=work.tokens.delete_dead(now - DEAD_TOKENS_KEPT),
        )
        work.commit()
    return swept


def _end_forgotten(desk: Desk, work: UnitOfWork, before: datetime) -> int:
    forgotten = work.matches.started_before(before, "open")
    for found in forgotten:
        end_locked(desk, work, locked_match(work, found.id))
    return len(forgotten)


def _delete_matches(work: UnitOfWork, club: Club, now: datetime) -> int:
    players = {player.id: player for player in work.players.stream()}
    old = [
        match.id
        for match in work.matches.find(status="ended")
        if match.ended_at and _past(club, _bands(match, players), match.ended_at, now)
    ]
    return sum(work.matches.delete(id) for id in old)


def _delete_players(work: UnitOfWork, club: Club, now: datetime) -> int:
    """Players without a match who were not changed for as long."""
    matches = list(work.matches.stream())
    playing = {id for match in matches for id in (match.own_id, match.opponent_id)}
    idle = [
        player.id
        for player in work.players.stream()
        if player.id not in playing and _past(club, [player.age_band], player.updated_at, now)
    ]
    return sum(work.players.delete(id) for id in idle)


def _bands(match: Match, players: dict[str, Player]) -> list[str | None]:
    facts = [match.context, match.own_facts, match.opponent_facts]
    who = [players[id] for id in (match.own_id, match.opponent_id) if id in players]
    return [one.get("age_band") for one in facts] + [player.age_band for player in who]


def _past(club: Club, bands: Iterable[str | None], since: datetime, now: datetime) -> bool:
    days = club.keep_days_under_18 if JUNIOR.intersection(filter(None, bands)) else club.keep_days
    return days is not None and since + timedelta(days=days) < now
