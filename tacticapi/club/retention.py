"""What is kept goes: the sweep of what was kept long enough, club by club, and players erased for good.

Of an erased player, what names them goes; counts that others' matches need stay without a name. Erasing is the one
change of entries that were made: there is no history of it.
"""

import logging
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from datetime import datetime, timedelta
from typing import Any

from tacticapi.advice.safety import JUNIOR
from tacticapi.club.clubs import known_club
from tacticapi.club.entries import locked_match
from tacticapi.club.matches import end_locked
from tacticapi.club.players import known_player
from tacticapi.club.services import Services
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Way
from tacticapi.rulebook.danger import WARNING_SIGN
from tacticapi.store import Club, Feedback, Match, Player, Record, UnitOfWork, club_ids

# house policy: none of it is law
OPEN_MATCH = timedelta(hours=48)  # a match still open after this was forgotten: the sweep ends it
ANSWERS_KEPT = timedelta(days=7)  # how long a repeated request is known by its key
DEAD_TOKENS_KEPT = timedelta(days=90)  # how long an expired or revoked token can still be listed
OWN_SUBJECTS = frozenset({"record", "plan"})  # observations of what the own player did; all others are the opponent's
FREE_TEXT = frozenset({"note", "by", "ref"})
REASON = "reason"  # of feedback; in advice it is a word of ours
log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class SweepResult:
    """How much went; `ended` counts matches that were still open long after their start and have ended now.

    `failed` counts clubs that could not be swept and stay as they were.
    """

    ended: int = 0
    matches: int = 0
    players: int = 0
    answers: int = 0
    tokens: int = 0
    failed: int = 0


def sweep(services: Services) -> SweepResult:
    """Sweep every club, one unit of work each. A club that fails is logged, and the others are swept."""
    swept = []
    for club_id in club_ids(services.engine):
        try:
            swept.append(sweep_club(services, club_id))
        except Exception:
            log.exception("a club could not be swept", extra={"club_id": club_id})
            swept.append(SweepResult(failed=1))
    return SweepResult(*(sum(getattr(one, field.name) for one in swept) for field in fields(SweepResult)))


def sweep_club(services: Services, club_id: str) -> SweepResult:
    """End forgotten matches; delete matches and idle players past the club's days, and what only served for a while.

    A match with anyone under 18 in it, or of an event for them, goes by the days for under-18s. A player whose age is
    unknown is kept as a minor is. Raises NotFound.
    """
    with services.work(club_id) as work:
        club, now = known_club(work), services.now()
        swept = SweepResult(
            ended=_end_forgotten(services, work, now - OPEN_MATCH),
            matches=_delete_matches(work, club, now),
            players=_delete_players(work, club, now),
            answers=work.answers.delete_before(now - ANSWERS_KEPT),
            tokens=work.tokens.delete_dead(now - DEAD_TOKENS_KEPT),
        )
        work.commit()
    return swept


def _end_forgotten(services: Services, work: UnitOfWork, before: datetime) -> int:
    forgotten = work.matches.started_before(before, "open")
    for found in forgotten:
        end_locked(services, work, locked_match(work, found.id))
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
    """The event's age band if it has one, and that of each player who is still here, None for an unknown age."""
    event = match.context.get("age_band")
    sides = ((match.own_id, match.own_facts), (match.opponent_id, match.opponent_facts))
    here = [(players[id], facts) for id, facts in sides if id in players]
    return [*([event] if event else []), *(facts.get("age_band") or player.age_band for player, facts in here)]


def _past(club: Club, bands: Iterable[str | None], since: datetime, now: datetime) -> bool:
    minor = any(band is None or band in JUNIOR for band in bands)
    days = club.keep_days_under_18 if minor else club.keep_days
    return days is not None and since + timedelta(days=days) < now


@dataclass(frozen=True, slots=True)
class ErasureResult:
    """What was done: matches that went, matches that stay without the player, texts in which the label stood."""

    matches_deleted: int
    matches_kept: int
    texts: int


def erase_player(services: Services, club_id: str, player_id: str) -> ErasureResult:
    """Erase a player. Raises NotFound.

    A match stays, anonymous, where its other player does: of an erased opponent only what the own player did; of an
    erased own player only what was seen of the opponent, and the points. A danger sign stays until the match ends.
    Advice given in these matches goes. Free text anywhere in the club that holds the label goes.
    """
    with services.work(club_id) as work:
        player = known_player(work, player_id)
        deleted = kept = 0
        for found in work.matches.of_player(player_id):
            match = locked_match(work, found.id)
            if (match.opponent_id if player.side == "own" else match.own_id) is None:
                deleted += work.matches.delete(match.id)
            else:
                _make_anonymous(work, match, player.side)
                kept += 1
        work.players.delete(player_id)
        texts = _remove_name(work, player, services.rulebook)
        work.commit()
    return ErasureResult(deleted, kept, texts)


def _make_anonymous(work: UnitOfWork, match: Match, side: str) -> None:
    work.snapshots.delete_of_match(match.id)
    theirs: list[str] = []
    for entry in work.observations.of_match(match.id):
        # a danger sign may be in either player, and must stop play as long as the match goes on
        signs_on = entry.kind == WARNING_SIGN and match.status == "open"
        if not signs_on and (entry.kind.partition(".")[0] in OWN_SUBJECTS) == (side == "own"):
            theirs.append(entry.id)
        elif entry.body and FREE_TEXT & entry.body.keys():
            work.observations.update(entry.id, {"body": _without(entry.body, FREE_TEXT)})
    work.observations.delete_ids(theirs)
    if side == "own":
        work.tries.delete_ids([entry.id for entry in work.tries.of_match(match.id)])
        for point in work.points.of_match(match.id):
            if point.body and "own_error" in point.body:
                work.points.update(point.id, {"body": _without(point.body, {"own_error"})})
    gone: dict[str, Any] = {f"{side}_id": None, f"{side}_facts": {}}
    if side == "opponent":
        gone |= {"earlier": []}
    work.matches.update(match.id, {**gone, "version": match.version + 1, "revision": match.revision + 1})


def _remove_name(work: UnitOfWork, player: Player, rulebook: Rulebook) -> int:
    """Take free texts that hold the label out of everything of the club; says how many rows held one.

    Whoever polls a match, or edits it or a player, on which the label stood is told that it has changed.
    """
    holder = _Name(player.label, rulebook)
    found, touched = 0, set[str]()
    for repository, columns, versioned in (
        (work.players, ("facts",), True),
        (work.matches, ("context", "own_facts", "opponent_facts"), True),
        (work.observations, ("body",), False),
        (work.snapshots, ("situation", "advice"), False),
        (work.feedback, (REASON,), False),
    ):
        records: Any = repository
        for row, cleaned in list(holder.changes(records.stream(), columns)):
            records.update(row.id, {**cleaned, **({"version": row.version + 1} if versioned else {})})
            touched |= _matches_told(work, row)
            found += 1
    work.matches.touch(touched)
    return found


def _matches_told(work: UnitOfWork, row: Any) -> set[str]:
    """Return the matches of which something is told by a row."""
    match row:
        case Player():
            return {match.id for match in work.matches.of_player(row.id)}
        case Match():
            return {row.id}
        case Feedback():
            return {snapshot.match_id for snapshot in [work.snapshots.get(row.snapshot_id)] if snapshot}
        case _:
            return {row.match_id}


class _Name:
    """Finds a label in free text."""

    def __init__(self, label: str, rulebook: Rulebook) -> None:
        self._word = re.compile(rf"(?<!\w){re.escape(label)}(?!\w)", re.IGNORECASE)
        texts = [kind for kind in rulebook.kinds.values() if Way.TEXT in kind.ways]
        self._kinds, self._keys = {kind.id for kind in texts}, FREE_TEXT | {kind.key for kind in texts}

    def changes(self, records: Iterable[Record], columns: tuple[str, ...]) -> Iterable[tuple[Any, dict[str, Any]]]:
        """Yield every row that held the label, with its cleaned columns."""
        for record in records:
            before = {column: getattr(record, column) for column in columns}
            after = {REASON: None} if self._in(before.get(REASON)) else self.cleaned(before)
            if after != before:
                yield record, after

    def cleaned(self, data: Any) -> Any:
        """Return the data with None for each free text that holds the label."""
        if isinstance(data, Mapping):
            free = self._keys | ({"value"} if data.get("what") in self._kinds else set())
            free |= {"text"} if "why" in data else set()  # a free text that advice gave back as not understood
            return {key: None if key in free and self._in(item) else self.cleaned(item) for key, item in data.items()}
        return [self.cleaned(item) for item in data] if isinstance(data, list) else data

    def _in(self, text: Any) -> bool:
        return isinstance(text, str) and self._word.search(text) is not None


def _without(body: Mapping[str, Any], names: Iterable[str]) -> dict[str, Any]:
    return {name: value for name, value in body.items() if name not in names}
