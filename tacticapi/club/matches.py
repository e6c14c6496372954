"""Create, change (by version), end, reopen and delete matches. Ending a match deletes its health items."""

from collections.abc import Iterable, Mapping
from typing import Any

from tacticapi.club.clubs import known_club
from tacticapi.club.codec import encode
from tacticapi.club.dossier import taught
from tacticapi.club.entries import MATCH_ENDED, add_signs, done_unless_changed, known_match, locked_match
from tacticapi.club.health import SUBJECTS, Trail, checked_facts, health_of
from tacticapi.club.players import known_player
from tacticapi.club.scorekeeping import steps
from tacticapi.club.services import (
    ENTRIES_IN_A_PIECE,
    ROWS_IN_A_PIECE,
    Conflict,
    Once,
    Services,
    VersionConflict,
    checked_day,
    checked_external_id,
    conflict,
    done_once,
    empty_log,
    external_id_taken,
    found,
    refuse,
)
from tacticapi.rulebook.files import Fault
from tacticapi.scoring.formats import SIDES
from tacticapi.store import ConstraintViolation, Match, ObservationEntry, Snapshot, UnitOfWork, shut

NOT_REOPENABLE = {"reopenable": False}  # since health items were deleted


def create(
    services: Services, club_id: str, own_id: str, opponent_id: str, *, once: Once = None, **given: Any
) -> Match:
    """Return a new match between two of the club's players, or the match that the same request created before.

    `given` has the same fields as in `update`. Its facts override those of the players. Health items are kept until the
    match ends; a danger sign in them becomes an observation. Raises NotFound, Refused, IdempotencyConflict; Conflict
    for an external id that is taken.
    """
    unsaid: dict[str, Any] = {
        **{name: {} for name in SUBJECTS}, "first_server": None, "started_at": services.now(), "external_id": None
    }  # fmt: skip
    new = checked(services, {**unsaid, **{name: value for name, value in given.items() if value is not None}})
    with services.reading(club_id) as work:
        known_club(work)
        _check_sides(work, own_id, opponent_id)
    earlier = encode(taught(services, club_id, opponent_id, surface=new["context"].get("surface")))
    now = services.now()

    def add() -> Mapping[str, Any]:
        _check_sides(work, own_id, opponent_id)
        match = Match(
            club_id, work.matches.new_id(), own_id, opponent_id, **new, status="open", ended_at=None, version=1,
            revision=0, created_at=now, earlier=earlier, updated_at=now, reopenable=True,
        )  # fmt: skip
        try:
            work.matches.add(match)
        except ConstraintViolation:
            raise external_id_taken("external_id", value=match.external_id) from None
        add_signs(services, work, match, new)
        return {"id": match.id}

    with services.work(club_id) as work:
        known_club(work)
        return known_match(work, done_once(work, once, now, add)["id"])


def get(services: Services, club_id: str, match_id: str) -> Match:
    """Return the match. Raises NotFound."""
    with services.reading(club_id) as work:
        return known_match(work, match_id)


def revision(services: Services, club_id: str, match_id: str) -> int:
    """Return how many changes could affect advice: while this stays the same, so does the advice. Raises NotFound."""
    with services.reading(club_id) as work:
        return found(work.matches.revision(match_id), "match", match_id)


def find(services: Services, club_id: str, *, limit: int = 100, **wanted: Any) -> list[Match]:
    """Return at most `limit` matches by players, `status` and `external_id`, paged as in `sorted_page`."""
    with services.reading(club_id) as work:
        return work.matches.sorted_page(limit=limit, **{name: value for name, value in wanted.items() if value})


def update(services: Services, club_id: str, match_id: str, version: int, **changes: Any) -> Match:
    """Replace context, own_facts, opponent_facts, first_server, started_at or external_id in this version of the match.

    Raises NotFound, VersionConflict; Refused, also for a format that does not allow the points so far; Conflict for an
    external id that is taken, and for health items for a match that has ended.
    """
    with services.work(club_id) as work:
        match = locked_match(work, match_id)
        new = checked(services, changes)
        if match.status == "ended":
            health, facts = health_of(services.rulebook), {s: new[n] for n, s in SUBJECTS.items() if n in new}
            if late := [(subject, key) for subject, given in facts.items() for key in health.keys(subject, given)]:
                expected = "an item that is not about health: this match has ended"
                raise Conflict(MATCH_ENDED, [Fault(at, None, expected) for at in late])
        changed = {**new, "revision": match.revision + 1, "updated_at": services.now()}
        try:
            if not work.matches.update_version(match_id, version, changed):
                raise VersionConflict("match", match.version)
        except ConstraintViolation:
            raise external_id_taken("external_id", value=changes.get("external_id")) from None
        match = known_match(work, match_id)
        steps(match, work.points.of_match(match_id))
        if match.status == "open":
            add_signs(services, work, match, new)
        return known_match(work, match_id)


def end(services: Services, club_id: str, match_id: str, *, version: int | None = None) -> Match:
    """End a match: accept no more points or tries, and delete its health items. Raises NotFound, VersionConflict."""
    with services.reading(club_id) as work:
        match = known_match(work, match_id)
    _check_version(match, version)
    if match.status == "ended":
        return match
    stripped = _strip(services, club_id, match_id)

    def read(work: UnitOfWork) -> Trail:
        return health_of(services.rulebook).trail(work.observations.of_match(match_id))

    def do(work: UnitOfWork, match: Match, trail: Trail) -> None:
        _check_version(match, version)
        if match.status == "open":
            _end_locked(services, work, match, trail, stripped)

    ended = done_unless_changed(services, club_id, match_id, read, do)
    empty_log(services)
    return ended


def _strip(services: Services, club_id: str, match_id: str) -> str | None:
    """Remove health items from a match that is about to end, in pieces; return the id of the last advice read.

    Slow work is done before each unit of work begins, so that no other writer waits for it.
    """
    last: str | None = None
    while True:
        with services.reading(club_id) as work:
            page = work.snapshots.find(after=last, limit=ROWS_IN_A_PIECE, match_id=match_id)
            trail = health_of(services.rulebook).trail(work.observations.of_match(match_id))
        if changes := _stripped(services, page, trail):
            with services.work(club_id) as work:
                work.snapshots.update_all(changes)
                work.matches.update(match_id, NOT_REOPENABLE)
        if not page:
            break
        last = page[-1].id
    dirty = list(trail.left.items())
    for start in range(0, len(dirty), ENTRIES_IN_A_PIECE):
        with services.work(club_id) as work:
            clean_entries(work, dict(dirty[start : start + ENTRIES_IN_A_PIECE]))
            work.matches.update(match_id, NOT_REOPENABLE)
    return last


def _stripped(services: Services, page: Iterable[Snapshot], trail: Trail) -> dict[str, dict[str, Any]]:
    health = health_of(services.rulebook)
    clean = (shut(left) for one in page if (left := health.stripped(one, trail)) is not one)
    names = ("question", "advice", "fired", "health_removed")
    return {one.id: {name: getattr(one, name) for name in names} for one in clean}


def clean_entries(work: UnitOfWork, dirty: Mapping[str, ObservationEntry | None]) -> None:
    """Store these observations by id; delete those with nothing left."""
    work.observations.delete_ids([id for id, left in dirty.items() if left is None])
    work.observations.update_all({id: {"body": left.body} for id, left in dirty.items() if left})


def _end_locked(services: Services, work: UnitOfWork, match: Match, trail: Trail, stripped: str | None) -> None:
    """End an open match that this unit of work has locked, and clean what was added since `_strip`."""
    health = health_of(services.rulebook)
    since = _stripped(services, work.snapshots.find(after=stripped, match_id=match.id), trail)
    work.snapshots.update_all(since)
    clean_entries(work, trail.left)
    gone = bool(since or trail.left)
    for repository, column in ((work.feedback, "reason"), (work.points, "body"), (work.tries, "body")):
        rows: list[Any] = repository.of_match(match.id)
        told = {one.id: {column: getattr(left, column)} for one in rows if (left := health.cleaned(one)) is not one}
        repository.update_all(told)
        gone = gone or bool(told)
    clean = health.cleaned(match) or match
    cleaned = {name: getattr(clean, name) for name in SUBJECTS}
    now = services.now()
    kept = NOT_REOPENABLE if gone or clean is not match else {}
    work.matches.advance(match, {**cleaned, **kept, "status": "ended", "ended_at": now}, now)


def reopen(services: Services, club_id: str, match_id: str, *, version: int | None = None) -> Match:
    """Reopen a finished match, unless health items were deleted at its end: a safety stop would be lost.

    Its retention period restarts when it ends again. Raises NotFound, VersionConflict, Conflict.
    """
    with services.work(club_id) as work:
        match = locked_match(work, match_id)
        _check_version(match, version)
        if match.status == "ended":
            if not match.reopenable:
                raise conflict("health-removed", "a match that had no health items to delete: start a new match")
            work.matches.advance(match, {"status": "open", "ended_at": None}, services.now())
        return known_match(work, match_id)


def delete(services: Services, club_id: str, match_id: str, *, version: int | None = None) -> None:
    """Delete a match and all its data, in pieces so that no other writer waits for long.

    Raises NotFound; VersionConflict, with nothing deleted, if it has another `version`.
    """
    with services.reading(club_id) as work:
        match = known_match(work, match_id)
        _check_version(match, version)
    for name in ("snapshots", "tries", "points", "observations"):
        delete_rows(services, match, name)
    with services.work(club_id) as work:
        work.matches.delete(match_id)
    empty_log(services)


def delete_rows(services: Services, match: Match, which: str) -> None:
    """Delete all of a match's rows from the repository `which`, in pieces."""
    size = ROWS_IN_A_PIECE if which == "snapshots" else ENTRIES_IN_A_PIECE
    left = size
    while left == size:
        with services.work(match.club_id) as work:
            left = getattr(work, which).delete_newest(match.id, size)


def _check_version(match: Match, version: int | None) -> None:
    if version not in (None, match.version):
        raise VersionConflict("match", match.version)


def _check_sides(work: UnitOfWork, own_id: str, opponent_id: str) -> None:
    for player_id, side in ((own_id, "own"), (opponent_id, "opponent")):
        if known_player(work, player_id).side != side:
            raise refuse(f"a player whose side is {side}", f"{side}_id", value=player_id)


def checked(services: Services, given: Mapping[str, Any]) -> dict[str, Any]:
    """Return values for the fields that `update` accepts, with facts without nulls. Raises Refused."""
    made = dict(given)
    for name in SUBJECTS.keys() & made.keys():
        made[name] = checked_facts(SUBJECTS[name], made[name], services.rulebook)
    if made.get("first_server") not in (None, *SIDES):
        raise refuse("own, opponent or null", "first_server", value=made["first_server"])
    checked_external_id(made.get("external_id"))
    if "started_at" in made:
        checked_day(made["started_at"], "started_at", services.now())
    return made
