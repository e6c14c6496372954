"""Delete data past its retention period, club by club, and erase players for good."""

import logging
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from datetime import datetime, timedelta
from typing import Any

from tacticapi.advice.safety import JUNIOR
from tacticapi.club import matches
from tacticapi.club.clubs import known_club
from tacticapi.club.entries import done_unless_changed
from tacticapi.club.players import known_player
from tacticapi.club.services import ENTRIES_IN_A_PIECE, ROWS_IN_A_PIECE, Services, empty_log
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Way
from tacticapi.rulebook.danger import WARNING_SIGN
from tacticapi.store import Club, Feedback, Match, ObservationEntry, Player, Record, Token, UnitOfWork, club_ids

# default policy, not law
OPEN_MATCH = timedelta(hours=48)  # a match still open after this counts as forgotten, and the sweep ends it
ANSWERS_KEPT = timedelta(days=7)  # how long a repeated request is recognized by its key
DEAD_TOKENS_KEPT = timedelta(days=90)  # how long an expired or revoked token can still be listed
OWN_SUBJECTS = frozenset({"record", "plan"})  # observations about our player; all others are about the opponent
FREE_TEXT = frozenset({"note", "by", "ref"})
# fields of feedback and tokens (in advice these are our own words), and a club's own id; a token needs a label
ERASED = {"reason": None, "label": "named someone who was erased", "external_id": None}
MIN_SOUGHT = 4  # shortest external id to look for in text: a shorter one could be any number
UNSEEN = frozenset({"Mn", "Cf"})  # combining accents and invisible characters
log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class SweepResult:
    """How many rows were deleted, forgotten matches ended, and clubs left unchanged because their sweep failed."""

    ended: int = 0
    matches: int = 0
    players: int = 0
    answers: int = 0
    tokens: int = 0
    failed: int = 0


def sweep(services: Services) -> SweepResult:
    """Sweep all clubs, in pieces. If a sweep fails, log it and sweep the other clubs."""
    swept = []
    for club_id in club_ids(services.engine):
        try:
            swept.append(sweep_club(services, club_id))
        except Exception:
            log.exception("a club could not be swept", extra={"club_id": club_id})
            swept.append(SweepResult(failed=1))
    return SweepResult(*(sum(getattr(one, field.name) for one in swept) for field in fields(SweepResult)))


def sweep_club(services: Services, club_id: str) -> SweepResult:
    """End forgotten matches; delete matches and idle players past the club's days, old stored results and dead tokens.

    The days for minors apply if a player is under 18 or of unknown age, or the event is for juniors. Raises NotFound.
    """
    with services.reading(club_id) as work:
        club, now = known_club(work), services.now()
        forgotten = [one.id for one in work.matches.find(status="open") if one.started_at < now - OPEN_MATCH]
    for match_id in forgotten:
        matches.end(services, club_id, match_id)
    with services.reading(club_id) as work:
        players = {player.id: player for player in work.players.stream()}
        old = [
            match.id
            for match in work.matches.find(status="ended")
            if match.ended_at and _past(club, _bands(match, players), match.ended_at, now)
        ]
    for match_id in old:
        matches.delete(services, club_id, match_id)
    with services.work(club_id) as work:
        playing = work.matches.player_ids()
        others = [player for player in work.players.stream() if player.id not in playing]
        idle = [one.id for one in others if _past(club, [one.age_band], one.updated_at, now)]
        swept = SweepResult(
            ended=len(forgotten),
            matches=len(old),
            players=work.players.delete_ids(idle),
            answers=work.answers.delete_before(now - ANSWERS_KEPT),
            tokens=work.tokens.delete_dead(now - DEAD_TOKENS_KEPT),
        )
    empty_log(services)
    return swept


def _bands(match: Match, players: dict[str, Player]) -> list[str | None]:
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
    """The numbers of matches deleted, of matches kept without the player, and of rows with the label in their text."""

    matches_deleted: int
    matches_kept: int
    texts: int


def erase_player(services: Services, club_id: str, player_id: str) -> ErasureResult:
    """Erase a player. Raises NotFound.

    A match is kept, without the player, if its other player remains. If an opponent is erased, only what our player did
    is kept; if our own player is erased, only the observations of the opponent and the points. A danger sign stays
    until the match ends. Advice on these matches and their external ids are deleted, as are all of the club's free
    text, external ids and idempotency keys that contain the label, a former label or the player's external id. The work
    is done in pieces, and the player is deleted last: if it is interrupted, repeat the call.
    """
    with services.reading(club_id) as work:
        player = known_player(work, player_id)
    deleted = kept = 0
    while True:  # a match with this player may be created meanwhile
        with services.reading(club_id) as work:
            found = work.matches.of_player(player_id)
        for match in found:
            if (match.opponent_id if player.side == "own" else match.own_id) is None:
                matches.delete(services, club_id, match.id)
                deleted += 1
            else:
                _make_anonymous(services, match, player.side)
                kept += 1
        texts = _remove_name(services, player)
        with services.work(club_id) as work:
            if not work.matches.of_player(player_id):
                work.players.delete(player_id)
                work.answers.forget_requests()
                break
    empty_log(services)
    return ErasureResult(deleted, kept, texts)


def _make_anonymous(services: Services, match: Match, side: str) -> None:
    matches.delete_rows(services, match, "snapshots")

    def theirs(work: UnitOfWork) -> dict[str, ObservationEntry | None]:
        """Return the observations to delete (None), and the others without free text."""
        found: dict[str, ObservationEntry | None] = {}
        for entry in work.observations.of_match(match.id):
            # a danger sign can concern either player, and must stop play while the match goes on
            signs_on = entry.kind == WARNING_SIGN and match.status == "open"
            if not signs_on and (entry.kind.partition(".")[0] in OWN_SUBJECTS) == (side == "own"):
                found[entry.id] = None
            elif entry.body and FREE_TEXT & entry.body.keys():
                found[entry.id] = replace(entry, body=_without(entry.body, FREE_TEXT))
        return found

    def do(work: UnitOfWork, match: Match, found: dict[str, ObservationEntry | None]) -> None:
        work.snapshots.delete_newest(match.id, ROWS_IN_A_PIECE)  # advice given since then
        matches.clean_entries(work, found)
        if side == "own":
            work.tries.delete_ids([entry.id for entry in work.tries.of_match(match.id)])
        told = FREE_TEXT | ({"own_error"} if side == "own" else frozenset())
        for repository in (work.points, work.tries):
            some = [one for one in repository.of_match(match.id) if one.body and told & one.body.keys()]
            repository.update_all({one.id: {"body": _without(one.body or {}, told)} for one in some})
        gone: dict[str, Any] = {f"{side}_id": None, f"{side}_facts": {}, "external_id": None}
        work.matches.advance(match, gone if side == "own" else {**gone, "earlier": []}, services.now())

    with services.reading(match.club_id) as work:
        dirty = list(theirs(work).items())
    for start in range(0, len(dirty), ENTRIES_IN_A_PIECE):
        with services.work(match.club_id) as work:
            matches.clean_entries(work, dict(dirty[start : start + ENTRIES_IN_A_PIECE]))
    done_unless_changed(services, match.club_id, match.id, theirs, do)


def _remove_name(services: Services, player: Player) -> int:
    """Remove text that contains the name or external id from all the club's rows; return how many rows contained it."""
    own_id = player.external_id or ""
    names = (player.label, *player.former_labels, *([own_id] if len(own_id) >= MIN_SOUGHT else []))
    holder = _Name(names, services.rulebook)
    with services.reading(player.club_id) as work:
        keys = [key for key in work.answers.ids() if holder.is_in(key)]
    with services.work(player.club_id) as work:
        found = sum(work.answers.delete(key) for key in keys)
    for name, columns in (
        ("players", ("facts", "external_id")),
        ("matches", ("context", "own_facts", "opponent_facts", "external_id")),
        ("observations", ("body",)),
        ("points", ("body",)),
        ("tries", ("body",)),
        ("snapshots", ("question", "advice")),
        ("feedback", ("reason",)),
        ("tokens", ("label",)),
    ):
        with services.reading(player.club_id) as work:
            rows = getattr(work, name).stream()
            ids = [row.id for row, _ in holder.changes(rows, columns) if row.id != player.id]
        for start in range(0, len(ids), ROWS_IN_A_PIECE):
            with services.work(player.club_id) as work:
                repository = getattr(work, name)
                piece = repository.table.c.id.in_(ids[start : start + ROWS_IN_A_PIECE])
                for row, cleaned in holder.changes(repository.find(piece), columns):
                    if hasattr(row, "version"):
                        cleaned |= {"version": row.version + 1, "updated_at": services.now()}
                    repository.update(row.id, cleaned)
                    work.matches.touch(_matches_told(work, row))
                    found += 1
    return found


def _matches_told(work: UnitOfWork, row: Any) -> set[str]:
    match row:
        case Player():
            return {match.id for match in work.matches.of_player(row.id)}
        case Match():
            return {row.id}
        case Token():
            return set()
        case Feedback():
            return _matches_told(work, work.snapshots.get(row.snapshot_id))
        case _:
            return {row.match_id}


class _Name:
    """A search for labels in free text that ignores case, accents and width."""

    def __init__(self, labels: Iterable[str], rulebook: Rulebook) -> None:
        words = "|".join(re.escape(plain(label) or label) for label in dict.fromkeys(labels))
        self._word = re.compile(rf"(?<![^\W_])(?:{words})(?![^\W_])")
        texts = [kind for kind in rulebook.kinds.values() if Way.TEXT in kind.ways]
        self._kinds, self._keys = {kind.id for kind in texts}, FREE_TEXT | {kind.key for kind in texts}

    def changes(self, records: Iterable[Record], columns: tuple[str, ...]) -> Iterable[tuple[Any, dict[str, Any]]]:
        """Yield each row that contained a label, with its cleaned columns."""
        for record in records:
            before = {column: getattr(record, column) for column in columns}
            erased = {name: ERASED[name] for name in before.keys() & ERASED.keys() if self.is_in(before[name])}
            after = {**self.cleaned(before), **erased}
            if after != before:
                yield record, after

    def cleaned(self, data: Any) -> Any:
        """Return the data with None in place of free text that contains a label."""
        if isinstance(data, Mapping):
            free = self._keys | ({"value"} if data.get("what") in self._kinds else set())
            free |= {"text"} if "why" in data else set()  # free text that advice returned as not understood
            return {key: None if key in free and self.is_in(item) else self.cleaned(item) for key, item in data.items()}
        return [self.cleaned(item) for item in data] if isinstance(data, list) else data

    def is_in(self, text: Any) -> bool:
        """Return whether free text contains a label."""
        return isinstance(text, str) and (self._word.search(plain(text)) or self._word.search(text)) is not None


def plain(text: str) -> str:
    """Return text normalised for comparison: lower case, without accents, invisible characters or width variants."""
    letters = (one for one in unicodedata.normalize("NFKD", text) if unicodedata.category(one) not in UNSEEN)
    return " ".join(unicodedata.normalize("NFKD", "".join(letters).casefold()).split())


def _without(body: Mapping[str, Any], names: Iterable[str]) -> dict[str, Any]:
    return {name: value for name, value in body.items() if name not in names}
