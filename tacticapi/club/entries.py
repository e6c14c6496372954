"""Entries of a match, observations and tries: added one after the other, corrected by another entry, never changed.

Not here: points, which the score follows (scorekeeping).
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal, TypeVar

from tacticapi.advice import Adviser
from tacticapi.club.codec import decode, encode
from tacticapi.club.health import health_of
from tacticapi.club.services import Done, NotFound, Once, Refused, Services, done, done_once, refuse
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import MOST_TRIED
from tacticapi.posted import SUM_EXPECTED, Posted, merged_tries, observation_faults, try_faults
from tacticapi.rulebook.danger import WARNING_SIGN
from tacticapi.rulebook.files import Fault
from tacticapi.store import Entries, Entry, Match, ObservationEntry, UnitOfWork, new_id

EntryKind = Literal["observations", "points", "tries"]
SomeEntry = TypeVar("SomeEntry", bound=Entry)
ENDED = "an observation that is no health item: this match has ended"


@dataclass(frozen=True, slots=True)
class Receipt:
    """What was added: its id, its sequence number in the match (also the match's revision now), and when."""

    id: str
    sequence: int
    recorded_at: datetime


def standing(entries: Iterable[SomeEntry]) -> list[SomeEntry]:
    """Return the entries that stand, in the order in which they were first made.

    A line of corrections stands by its newest entry, at the place of its first. Withdrawn lines are left out.
    """
    first: dict[str, str] = {}
    newest: dict[str, SomeEntry] = {}
    for entry in entries:
        root = first.get(entry.supersedes, entry.id) if entry.supersedes else entry.id
        first[entry.id] = root
        newest[root] = entry
    return [entry for entry in newest.values() if entry.body is not None]


def known_match(work: UnitOfWork, match_id: str) -> Match:
    """Return the match of this club. Raises NotFound."""
    match = work.matches.get(match_id)
    if match is None:
        raise NotFound("match", match_id)
    return match


def locked_match(work: UnitOfWork, match_id: str) -> Match:
    """Return the match, kept from other writers until the unit of work ends. Raises NotFound."""
    match = work.matches.locked(match_id)
    if match is None:
        raise NotFound("match", match_id)
    return match


def check_open(match: Match) -> None:
    """Raises Refused for a match that has ended."""
    if match.status == "ended":
        raise refuse("a match that has not ended")


def new_entry(match: Match, place: int, body: Posted | None, now: datetime, supersedes: str | None = None) -> Entry:
    """Return the entry that comes as number `place` (from 1) after what the match holds."""
    return Entry(match.club_id, new_id(), match.id, match.revision + place, supersedes, body, now)


def added_once(
    services: Services, club_id: str, match_id: str, once: Once | None, do: Callable[[UnitOfWork, Match], Done]
) -> Done:
    """Return what `do` made of a match that is locked for it, or made when the same request came before.

    Raises NotFound, IdempotencyConflict, and what `do` raises.
    """
    with services.work(club_id) as work:
        known_match(work, match_id)
        answer = done_once(work, once, services.now(), lambda: do(work, locked_match(work, match_id)))
        work.commit()
    return answer


def append(
    work: UnitOfWork, match: Match, repository: Entries[SomeEntry], entries: Sequence[SomeEntry]
) -> list[Receipt]:
    """Add entries to a locked match and raise its revision by as many."""
    repository.add_all(entries)
    work.matches.update(match.id, {"revision": match.revision + len(entries)})
    return [Receipt(entry.id, entry.sequence, entry.recorded_at) for entry in entries]


def check_correctable(repository: Entries[SomeEntry], match: Match, entry_id: str) -> SomeEntry:
    """Return the entry that is to be superseded. Raises NotFound; Refused when another entry superseded it already."""
    entry = repository.get(entry_id)
    if entry is None or entry.match_id != match.id:
        raise NotFound("entry", entry_id)
    successor = repository.successor(match.id, entry_id)
    if successor is not None:
        raise refuse(f"the newest entry of its line: {successor.id} superseded this one", "supersedes", value=entry_id)
    if entry.body is None:
        raise refuse("an entry that stands: this one withdrew another", "supersedes", value=entry_id)
    return entry


def get_entry(services: Services, club_id: str, match_id: str, which: EntryKind, entry_id: str) -> Entry:
    """Return one entry of the match, also a superseded one. Raises NotFound."""
    with services.reading(club_id) as work:
        known_match(work, match_id)
        repository: Entries[Entry] = getattr(work, which)
        found = repository.get(entry_id)
    if found is None or found.match_id != match_id:
        raise NotFound("entry", entry_id)
    return found


def entries_page(
    services: Services, club_id: str, match_id: str, which: EntryKind, *, after: int = 0, limit: int = 100, **equal: Any
) -> list[Entry]:
    """At most `limit` entries after a sequence number, superseded and withdrawing ones included. Raises NotFound.

    `equal` asks for observations of this kind, set_number or game_number alone.
    """
    with services.reading(club_id) as work:
        known_match(work, match_id)
        repository: Entries[Entry] = getattr(work, which)
        return repository.page(match_id, after, limit, **equal)


@dataclass(frozen=True, slots=True)
class Line:
    """What became of one line of a bulk: a receipt, or the faults for which it was refused."""

    receipt: Receipt | None
    faults: tuple[Fault, ...] = ()


def add_observation(
    services: Services,
    club_id: str,
    match_id: str,
    body: Posted,
    *,
    supersedes: str | None = None,
    once: Once | None = None,
) -> Receipt:
    """Add one observation; with `supersedes` it stands in the place of that entry from now on.

    Counts of one kind and game add up as separate entries; a correction replaces.
    Raises NotFound, Refused, IdempotencyConflict.
    """

    def do(work: UnitOfWork, match: Match) -> Done:
        _raise_faults(services, match, [body], pathed=False)
        if supersedes is not None:
            check_correctable(work.observations, match, supersedes)
        return done(
            append(work, match, work.observations, [_observation_entry(services, match, 1, body, supersedes)])[0]
        )

    return decode(Receipt, added_once(services, club_id, match_id, once, do))


def add_observations(
    services: Services, club_id: str, match_id: str, bodies: Sequence[Posted], *, once: Once | None = None
) -> list[Receipt]:
    """Add all of these observations or, with any fault, none. Raises as `add_observation`; fault paths begin
    with the place.
    """

    def do(work: UnitOfWork, match: Match) -> Done:
        _raise_faults(services, match, bodies, pathed=True)
        entries = [_observation_entry(services, match, place, body) for place, body in enumerate(bodies, 1)]
        return {"receipts": encode(append(work, match, work.observations, entries))}

    answer = added_once(services, club_id, match_id, once, do)
    return [decode(Receipt, receipt) for receipt in answer["receipts"]]


def add_observations_in_bulk(
    services: Services, club_id: str, match_id: str, bodies: Sequence[Any], *, once: Once | None = None
) -> list[Line]:
    """Add every observation that has no fault, all in one unit of work; answers line by line, in order.

    A repeated request answers the same. Raises NotFound, IdempotencyConflict.
    """

    def do(work: UnitOfWork, match: Match) -> Done:
        good = [place for place, body in enumerate(bodies) if not _observation_faults(services, match, body)]
        entries = [_observation_entry(services, match, number, bodies[place]) for number, place in enumerate(good, 1)]
        receipts = dict(zip(good, append(work, match, work.observations, entries), strict=True))
        return {"lines": [encode(receipts.get(place)) for place in range(len(bodies))]}

    answer = added_once(services, club_id, match_id, once, do)
    receipts = [None if line is None else decode(Receipt, line) for line in answer["lines"]]
    if all(receipts):
        return [Line(receipt) for receipt in receipts]
    with services.reading(club_id) as work:
        match = known_match(work, match_id)
    return [
        Line(receipt, () if receipt else tuple(_observation_faults(services, match, body)))
        for receipt, body in zip(receipts, bodies, strict=True)
    ]


def add_signs(services: Services, work: UnitOfWork, match: Match, given: Mapping[str, Posted]) -> None:
    """Enter each danger sign that facts of own, opponent and context state, unless it is entered already.

    A later change replaces facts without a trace; an entry holds until it is corrected. The match must be locked.
    """
    entered = {
        (entry.body or {}).get("value") for entry in standing(work.observations.of_match(match.id, kind=WARNING_SIGN))
    }
    found = [(sign, note) for sign, note in _stated(given, services.adviser).items() if sign not in entered]
    bodies = [{"what": WARNING_SIGN, "value": sign, "note": f"from {note}"} for sign, note in found]
    if bodies:
        entries = [_observation_entry(services, match, place, body) for place, body in enumerate(bodies, 1)]
        append(work, match, work.observations, entries)


def _stated(given: Mapping[str, Posted], adviser: Adviser) -> dict[str, str]:
    """Return the danger signs that facts state, each with the name of the fact that states it."""
    items = [item for facts in given.values() for item in facts.items()]
    return {sign: key for key, value in items for sign in adviser.signs_in_facts({key: value})}


def withdraw_observation(
    services: Services, club_id: str, match_id: str, entry_id: str, *, once: Once | None = None
) -> Receipt:
    """Take back an observation: an entry without a body supersedes it. Raises NotFound, Refused."""

    def do(work: UnitOfWork, match: Match) -> Done:
        entry = check_correctable(work.observations, match, entry_id)
        taken_back = ObservationEntry(
            **_fields(new_entry(match, 1, None, services.now(), entry_id)),
            kind=entry.kind,
            set_number=entry.set_number,
            game_number=entry.game_number,
        )
        return done(append(work, match, work.observations, [taken_back])[0])

    return decode(Receipt, added_once(services, club_id, match_id, once, do))


def _observation_faults(services: Services, match: Match, body: Any) -> list[Fault]:
    found = observation_faults(body, services.rulebook)
    if not found and match.status == "ended" and body["what"] in health_of(services.rulebook).kinds:
        found = [Fault(("what",), body["what"], ENDED)]
    return found


def _raise_faults(services: Services, match: Match, bodies: Iterable[Posted], *, pathed: bool) -> None:
    found = [
        Fault((place, *fault.path) if pathed else fault.path, fault.value, fault.expected)
        for place, body in enumerate(bodies)
        for fault in _observation_faults(services, match, body)
    ]
    if found:
        raise Refused(found)


def _observation_entry(
    services: Services, match: Match, place: int, body: Posted, supersedes: str | None = None
) -> ObservationEntry:
    given = {name: value for name, value in body.items() if value is not None}
    entry = new_entry(match, place, given, services.now(), supersedes)
    return ObservationEntry(
        **_fields(entry), kind=given["what"], set_number=given.get("set"), game_number=given.get("game")
    )


def _fields(entry: Entry) -> dict[str, Any]:
    return {name: getattr(entry, name) for name in Entry.__dataclass_fields__}


def add_tries(
    services: Services,
    club_id: str,
    match_id: str,
    body: Posted,
    *,
    supersedes: str | None = None,
    once: Once | None = None,
) -> Receipt:
    """Add {tactic, tried, won}; tries of one tactic add up, a correction replaces.

    Raises NotFound, Refused, IdempotencyConflict.
    """
    if faults := try_faults(body, services.rulebook):
        raise Refused(faults)
    return _added_tries(services, (club_id, match_id), body, supersedes, once)


def withdraw_tries(
    services: Services, club_id: str, match_id: str, entry_id: str, *, once: Once | None = None
) -> Receipt:
    """Take back an entry. Raises NotFound, Refused."""
    return _added_tries(services, (club_id, match_id), None, entry_id, once)


def sum_faults(tries: Iterable[Entry], rulebook: Rulebook) -> list[Fault]:
    """Return the faults of all tries of a match together: of each tactic no more than one entry may hold."""
    summed = merged_tries((entry.body for entry in standing(tries) if entry.body), rulebook)
    return [Fault(("tried",), one.tried, SUM_EXPECTED) for one in summed if one.tried > MOST_TRIED]


def _added_tries(
    services: Services, at: tuple[str, str], body: Posted | None, supersedes: str | None, once: Once | None
) -> Receipt:
    def do(work: UnitOfWork, match: Match) -> Done:
        check_open(match)
        if supersedes is not None:
            check_correctable(work.tries, match, supersedes)
        entry = new_entry(match, 1, body, services.now(), supersedes)
        if found := sum_faults([*work.tries.of_match(match.id), entry], services.rulebook):
            raise Refused(found)
        return done(append(work, match, work.tries, [entry])[0])

    return decode(Receipt, added_once(services, *at, once, do))
