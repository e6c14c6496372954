"""Add a match's entries in sequence. Entries never change; a new entry corrects an earlier one."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime, timedelta
from typing import Any, Literal, TypeVar

from tacticapi.club.codec import decode, encode
from tacticapi.club.health import SUBJECTS, health_of
from tacticapi.club.services import (
    MIN_TIME,
    Conflict,
    Once,
    Refused,
    Services,
    below,
    conflict,
    done_once,
    found,
    refuse,
    standing,
)
from tacticapi.posted import Posted, observation_faults
from tacticapi.rulebook.danger import WARNING_SIGN
from tacticapi.rulebook.files import Fault
from tacticapi.store import Entries, Entry, Match, ObservationEntry, UnitOfWork, new_id

EntryKind = Literal["observations", "points", "tries"]
SomeEntry = TypeVar("SomeEntry", bound=Entry)
Made = TypeVar("Made")
At = tuple[str, str]  # the ids of a club and one of its matches
MAX_ENTRIES = 5_000  # per kind and match, corrections included: several times what a long match needs
MATCH_ENDED = "match-ended"
ENDED = "an observation that is not a health item: this match has ended"
OBSERVED_AT = "observed_at"
MAX_CLOCK_AHEAD = timedelta(minutes=5)  # how far a device's clock may be ahead of ours
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,9})?(Z|[+-]\d\d:\d\d)", re.ASCII)  # RFC 3339, section 5.6
PAST_TIME = "a time such as 2026-05-01T09:00:00Z (RFC 3339), from 1900 on, not in the future"


@dataclass(frozen=True, slots=True)
class Receipt:
    """The receipt for an added entry: its id, its sequence number (now also the match's revision), and its time."""

    id: str
    sequence: int
    recorded_at: datetime


def known_match(work: UnitOfWork, match_id: str) -> Match:
    """Return the match of this club. Raises NotFound."""
    return found(work.matches.get(match_id), "match", match_id)


def locked_match(work: UnitOfWork, match_id: str) -> Match:
    """Return the match, locked against other writers until the unit of work ends. Raises NotFound."""
    return found(work.matches.locked(match_id), "match", match_id)


def check_open(match: Match) -> None:
    """Raise Refused for a match that has ended."""
    if match.status == "ended":
        raise conflict(MATCH_ENDED, "a match that has not ended")


@dataclass(frozen=True, slots=True)
class Given:
    """A posted entry: its body without nulls (None withdraws another entry), any `observed_at`, and its faults.

    `at` is its index in the posted list, with which its fault paths begin; empty for a single entry.
    """

    body: Posted | None
    observed_at: datetime | None = None
    faults: tuple[Fault, ...] = ()
    at: tuple[int, ...] = ()


def given_entries(posted: Any, now: datetime, body_faults: Callable[[Any], list[Fault]]) -> list[Given]:
    """Return one posted entry or a list, checked with `body_faults` and against the clock; None is a withdrawal."""
    if isinstance(posted, list):
        return [_given(one, now, body_faults, place) for place, one in enumerate(posted)]
    return [Given(None) if posted is None else _given(posted, now, body_faults)]


def _given(posted: Any, now: datetime, body_faults: Callable[[Any], list[Fault]], *at: int) -> Given:
    if not isinstance(posted, Mapping):
        return Given({}, None, (Fault((), posted, "an object"),), at)
    body = {name: value for name, value in posted.items() if value is not None}
    told = body.pop(OBSERVED_AT, None)
    seen, found = _past_time(told, now), body_faults(body)
    if told is not None and seen is None:
        found = [*found, Fault((OBSERVED_AT,), told, PAST_TIME)]
    return Given(body, seen, tuple(found), at)


def _past_time(told: Any, now: datetime) -> datetime | None:
    """Return the time in UTC; None if it is invalid or further in the future than MAX_CLOCK_AHEAD."""
    if not (isinstance(told, str) and _TIME.fullmatch(told.upper())):
        return None
    try:
        seen = datetime.fromisoformat(told.upper())
    except ValueError:
        return None
    return seen.astimezone(UTC) if MIN_TIME <= seen <= now + MAX_CLOCK_AHEAD else None


def raise_faults(given: Sequence[Given]) -> None:
    """Raise Refused if any entry has faults."""
    if faults := [below(*one.at, fault=fault) for one in given for fault in one.faults]:
        raise Refused(faults)


def new_entry(match: Match, given: Given, now: datetime, supersedes: str | None = None) -> Entry:
    """Return a new entry to append to the match; `append` numbers it."""
    return Entry(
        match.club_id, new_id(), match.id, match.revision, supersedes, given.body, now, observed_at=given.observed_at
    )


def added_once(
    services: Services, at: At, once: Once, kind: type[Made], do: Callable[[UnitOfWork, Match], Made]
) -> Made:
    """Return the result of `do` on the locked match, or its earlier result. Raises NotFound, IdempotencyConflict."""
    club_id, match_id = at
    with services.work(club_id) as work:
        known_match(work, match_id)
        answer = done_once(work, once, services.now(), lambda: {"made": encode(do(work, locked_match(work, match_id)))})
    return decode(kind, answer["made"])


def done_unless_changed(
    services: Services,
    club_id: str,
    match_id: str,
    read: Callable[[UnitOfWork], Made],
    do: Callable[[UnitOfWork, Match, Made], None],
) -> Match:
    """Read a match without blocking writers, then lock it, act on what was read, and return the match.

    If the match changes in between, read it again; the last attempt reads under the lock. Raises NotFound.
    """
    for last in (False, False, True):
        with services.reading(club_id) as work:
            before, found_then = known_match(work, match_id), None if last else read(work)
        with services.work(club_id) as work:
            match = locked_match(work, match_id)
            if found_then is None or match == before:
                do(work, match, read(work) if found_then is None else found_then)
                match = known_match(work, match_id)
                break
    return match


def append(
    work: UnitOfWork, match: Match, repository: Entries[SomeEntry], entries: Sequence[SomeEntry]
) -> list[Receipt]:
    """Number the next entries of a locked match, add them, and count them. Raises Refused beyond MAX_ENTRIES."""
    if not entries:
        return []
    if repository.count(match.id) + len(entries) > MAX_ENTRIES:
        raise refuse(f"at most {MAX_ENTRIES:,} entries of this kind in one match, corrections included")
    numbered = [replace(entry, sequence=number) for number, entry in enumerate(entries, match.revision + 1)]
    repository.add_all(numbered)
    last = numbered[-1]
    work.matches.update(match.id, {"revision": last.sequence, "updated_at": last.recorded_at})
    return [Receipt(entry.id, entry.sequence, entry.recorded_at) for entry in numbered]


def correctable(repository: Entries[SomeEntry], match: Match, entry_id: str | None) -> SomeEntry | None:
    """Return the entry to supersede, if any. Raises NotFound; Refused if it is superseded or a withdrawal."""
    if entry_id is None:
        return None
    entry = _of_match(repository.get(entry_id), match.id, entry_id)
    newest = None
    while later := repository.find(match_id=match.id, supersedes=newest or entry_id):
        newest = later[0].id
    if newest:
        expected = f"the newest entry in its chain of corrections: {newest}"
        raise conflict("entry-superseded", expected, "supersedes", value=entry_id, newest=newest)
    if entry.body is None:
        expected = "a valid entry: this one is a withdrawal"
        raise conflict("entry-withdrawn", expected, "supersedes", value=entry_id)
    return entry


def _of_match(entry: SomeEntry | None, match_id: str, entry_id: str) -> SomeEntry:
    return found(entry if entry and entry.match_id == match_id else None, "entry", entry_id)


def get_entry(services: Services, club_id: str, match_id: str, which: EntryKind, entry_id: str) -> Entry:
    """Return one entry of the match, even if it has been superseded. Raises NotFound."""
    with services.reading(club_id) as work:
        known_match(work, match_id)
        repository: Entries[Entry] = getattr(work, which)
        return _of_match(repository.get(entry_id), match_id, entry_id)


def page_of_match(services: Services, club_id: str, match_id: str, which: str, **wanted: Any) -> list[Any]:
    """Return a match's rows in the repository `which`, with `after`, `limit` and column values as in its `find`.

    Entries are in sequence, including superseded ones; advice and feedback are listed oldest first. Raises NotFound.
    """
    with services.reading(club_id) as work:
        known_match(work, match_id)
        found: list[Any] = getattr(work, which).of_match(match_id, **wanted)
        return found


@dataclass(frozen=True, slots=True)
class Line:
    """The result for one line in a bulk request: a receipt, or its faults and, for a conflict, its `code`."""

    receipt: Receipt | None
    faults: tuple[Fault, ...] = ()
    code: str | None = None


def add_observations(
    services: Services, club_id: str, match_id: str, posted: Any, *, supersedes: str | None = None, once: Once = None
) -> list[Receipt]:
    """Add one observation, or a list of them; lists are all-or-nothing.

    A single observation can replace another (`supersedes`) or withdraw it (None). Raises NotFound, Refused,
    IdempotencyConflict.
    """
    given = _observed(services, posted)
    made = _made(services, (club_id, match_id), given)

    def do(work: UnitOfWork, match: Match) -> list[Receipt]:
        raise_faults(given)
        if late := [_late(one) for one in given if _comes_late(services, match, one)]:
            raise Conflict(MATCH_ENDED, late)
        if earlier := correctable(work.observations, match, supersedes):
            return append(work, match, work.observations, [_observation_entry(services, match, given[0], earlier)])
        return append(work, match, work.observations, list(made.values()))

    return added_once(services, (club_id, match_id), once, list[Receipt], do)


def add_observations_in_bulk(
    services: Services, club_id: str, match_id: str, bodies: list[Any], *, once: Once = None
) -> list[Line]:
    """Add the observations without faults; return one result per line. Raises NotFound, IdempotencyConflict."""
    given = _observed(services, bodies)
    made = _made(services, (club_id, match_id), given)

    def do(work: UnitOfWork, match: Match) -> list[Receipt | None]:
        good = [place for place in made if not _comes_late(services, match, given[place])]
        added = append(work, match, work.observations, [made[place] for place in good])
        receipts = dict(zip(good, added, strict=True))
        return [receipts.get(place) for place in range(len(given))]

    receipts = added_once(services, (club_id, match_id), once, list[Receipt | None], do)
    return [
        Line(receipt) if receipt else Line(None, one.faults) if one.faults else Line(None, (_late(one),), MATCH_ENDED)
        for receipt, one in zip(receipts, (replace(one, at=()) for one in given), strict=True)
    ]


def _observed(services: Services, posted: Any) -> list[Given]:
    return given_entries(posted, services.now(), lambda body: observation_faults(body, services.rulebook))


def _made(services: Services, at: At, given: Sequence[Given]) -> dict[int, ObservationEntry]:
    """Return the entry for each valid observation by its index. This does not block other writers."""
    club_id, match_id = at
    with services.reading(club_id) as work:
        match = known_match(work, match_id)
    good = ((place, one) for place, one in enumerate(given) if one.body and not one.faults)
    return {place: _observation_entry(services, match, one) for place, one in good}


def add_signs(services: Services, work: UnitOfWork, match: Match, new: Mapping[str, Any]) -> None:
    """Add an observation for each danger sign in a locked match's new facts, unless there already is one."""
    kept = standing(work.observations.of_match(match.id, kind=WARNING_SIGN))
    entered = {entry.body.get("value") for entry in kept if entry.body}
    items = [item for name in SUBJECTS if name in new for item in new[name].items()]
    stated = {sign: key for key, value in items for sign in services.adviser.signs_in_facts({key: value})}
    new = {sign: key for sign, key in stated.items() if sign not in entered}
    bodies = ({"what": WARNING_SIGN, "value": sign, "note": f"from {key}"} for sign, key in new.items())
    append(work, match, work.observations, [_observation_entry(services, match, Given(body)) for body in bodies])


def _comes_late(services: Services, match: Match, given: Given) -> bool:
    """Return whether a valid observation is a health item, which a finished match does not accept."""
    return match.status == "ended" and (given.body or {}).get("what") in health_of(services.rulebook).kinds


def _late(given: Given) -> Fault:
    return Fault((*given.at, "what"), (given.body or {})["what"], ENDED)


def _observation_entry(
    services: Services, match: Match, given: Given, earlier: ObservationEntry | None = None
) -> ObservationEntry:
    """Return the entry; a withdrawal keeps the earlier entry's kind, set and game."""
    made = observed(new_entry(match, given, services.now(), earlier.id if earlier else None))
    if given.body is None and earlier:
        return replace(made, kind=earlier.kind, set_number=earlier.set_number, game_number=earlier.game_number)
    return made


def observed(entry: Entry) -> ObservationEntry:
    """Return an entry as an observation entry, with kind, set and game from its body."""
    members, body = {field.name: getattr(entry, field.name) for field in fields(Entry)}, entry.body or {}
    return ObservationEntry(
        **members, kind=body.get("what", ""), set_number=body.get("set"), game_number=body.get("game")
    )
