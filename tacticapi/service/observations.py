"""Observations of a match: added, corrected by a superseding entry, withdrawn; the history stays."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.inference.danger import WARNING_SIGN
from tacticapi.knowledge import Fault
from tacticapi.service.codec import decode, encode
from tacticapi.service.desk import Desk
from tacticapi.service.entries import (
    Receipt,
    added_once,
    append,
    check_correctable,
    known_match,
    new_entry,
    standing,
)
from tacticapi.service.errors import Refused
from tacticapi.service.health import health_of
from tacticapi.service.once import Done, Once, done
from tacticapi.service.posted import observation_faults
from tacticapi.store import Entry, Match, ObservationEntry, UnitOfWork

Posted = Mapping[str, Any]
ENDED = "an observation that is no health item: this match has ended"


@dataclass(frozen=True, slots=True)
class Line:
    """What became of one line of a bulk: a receipt, or the faults for which it was refused."""

    receipt: Receipt | None
    faults: tuple[Fault, ...] = ()


def add(
    desk: Desk, club_id: str, match_id: str, body: Posted, *, supersedes: str | None = None, once: Once | None = None
) -> Receipt:
    """Add one observation; with `supersedes` it stands in the place of that entry from now on.

    Counts of one kind and game add up as separate entries; a correction replaces.
    Raises NotFound, Refused, IdempotencyConflict.
    """

    def do(work: UnitOfWork, match: Match) -> Done:
        _raise_faults(desk, match, [body], pathed=False)
        if supersedes is not None:
            check_correctable(work.observations, match, supersedes)
        return done(append(work, match, work.observations, [_entry(desk, match, 1, body, supersedes)])[0])

    return decode(Receipt, added_once(desk, club_id, match_id, once, do))


def add_many(
    desk: Desk, club_id: str, match_id: str, bodies: Sequence[Posted], *, once: Once | None = None
) -> list[Receipt]:
    """Add all of these observations or, with any fault, none. Raises as `add`; fault paths begin with the place."""

    def do(work: UnitOfWork, match: Match) -> Done:
        _raise_faults(desk, match, bodies, pathed=True)
        entries = [_entry(desk, match, place, body) for place, body in enumerate(bodies, 1)]
        return {"receipts": encode(append(work, match, work.observations, entries))}

    answer = added_once(desk, club_id, match_id, once, do)
    return [decode(Receipt, receipt) for receipt in answer["receipts"]]


def add_in_bulk(
    desk: Desk, club_id: str, match_id: str, bodies: Sequence[Any], *, once: Once | None = None
) -> list[Line]:
    """Add every observation that has no fault, all in one unit of work; answers line by line, in order.

    A repeated request answers the same. Raises NotFound, IdempotencyConflict.
    """

    def do(work: UnitOfWork, match: Match) -> Done:
        good = [place for place, body in enumerate(bodies) if not _faults(desk, match, body)]
        entries = [_entry(desk, match, number, bodies[place]) for number, place in enumerate(good, 1)]
        receipts = dict(zip(good, append(work, match, work.observations, entries), strict=True))
        return {"lines": [encode(receipts.get(place)) for place in range(len(bodies))]}

    answer = added_once(desk, club_id, match_id, once, do)
    receipts = [None if line is None else decode(Receipt, line) for line in answer["lines"]]
    if all(receipts):
        return [Line(receipt) for receipt in receipts]
    with desk.reading(club_id) as work:
        match = known_match(work, match_id)
    return [
        Line(receipt, () if receipt else tuple(_faults(desk, match, body)))
        for receipt, body in zip(receipts, bodies, strict=True)
    ]


def add_signs(desk: Desk, work: UnitOfWork, match: Match, given: Mapping[str, Posted]) -> None:
    """Enter each danger sign that facts of own, opponent and context state, unless it is entered already.

    A later change replaces facts without a trace; an entry holds until it is corrected. The match must be locked.
    """
    entered = {
        (entry.body or {}).get("value") for entry in standing(work.observations.of_match(match.id, kind=WARNING_SIGN))
    }
    found = [(sign, note) for sign, note in _stated(given, desk.adviser).items() if sign not in entered]
    bodies = [{"what": WARNING_SIGN, "value": sign, "note": f"from {note}"} for sign, note in found]
    if bodies:
        entries = [_entry(desk, match, place, body) for place, body in enumerate(bodies, 1)]
        append(work, match, work.observations, entries)


def _stated(given: Mapping[str, Posted], adviser: Adviser) -> dict[str, str]:
    """The danger signs that facts state, each with the name of the fact that states it."""
    items = [item for facts in given.values() for item in facts.items()]
    return {sign: key for key, value in items for sign in adviser.signs_in_facts({key: value})}


def withdraw(desk: Desk, club_id: str, match_id: str, entry_id: str, *, once: Once | None = None) -> Receipt:
    """Take back an observation: an entry without a body supersedes it. Raises NotFound, Refused."""

    def do(work: UnitOfWork, match: Match) -> Done:
        entry = check_correctable(work.observations, match, entry_id)
        taken_back = ObservationEntry(
            **_fields(new_entry(match, 1, None, desk.now(), entry_id)),
            kind=entry.kind,
            set_number=entry.set_number,
            game_number=entry.game_number,
        )
        return done(append(work, match, work.observations, [taken_back])[0])

    return decode(Receipt, added_once(desk, club_id, match_id, once, do))


def _faults(desk: Desk, match: Match, body: Any) -> list[Fault]:
    found = observation_faults(body, desk.rulebook)
    if not found and match.status == "ended" and body["what"] in health_of(desk.rulebook).kinds:
        found = [Fault(("what",), body["what"], ENDED)]
    return found


def _raise_faults(desk: Desk, match: Match, bodies: Iterable[Posted], *, pathed: bool) -> None:
    found = [
        Fault((place, *fault.path) if pathed else fault.path, fault.value, fault.expected)
        for place, body in enumerate(bodies)
        for fault in _faults(desk, match, body)
    ]
    if found:
        raise Refused(found)


def _entry(desk: Desk, match: Match, place: int, body: Posted, supersedes: str | None = None) -> ObservationEntry:
    given = {name: value for name, value in body.items() if value is not None}
    entry = new_entry(match, place, given, desk.now(), supersedes)
    return ObservationEntry(
        **_fields(entry), kind=given["what"], set_number=given.get("set"), game_number=given.get("game")
    )


def _fields(entry: Entry) -> dict[str, Any]:
    return {name: getattr(entry, name) for name in Entry.__dataclass_fields__}
