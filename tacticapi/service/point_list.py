"""Points of a match that come together, such as from a sheet: all of them are added or, with any fault, none."""

from collections.abc import Mapping, Sequence
from typing import Any

from tacticapi.knowledge import Fault
from tacticapi.service.codec import decode, encode
from tacticapi.service.desk import Desk
from tacticapi.service.entries import Receipt, added_once, append, check_open, new_entry
from tacticapi.service.errors import Refused
from tacticapi.service.once import Done, Once
from tacticapi.service.scorekeeping import point_faults, steps
from tacticapi.store import Match, UnitOfWork


def add_list(
    desk: Desk, club_id: str, match_id: str, bodies: Sequence[Mapping[str, Any]], *, once: Once | None = None
) -> list[Receipt]:
    """Add these points in order, each as `points.add` takes it; the path of a fault begins with the place from 0.

    A point that cannot follow, as behind the end of the match, is told without a place.
    Raises NotFound, Refused, IdempotencyConflict.
    """

    def do(work: UnitOfWork, match: Match) -> Done:
        return {"receipts": encode(_append(desk, work, match, bodies))}

    answer = added_once(desk, club_id, match_id, once, do)
    return [decode(Receipt, receipt) for receipt in answer["receipts"]]


def _append(desk: Desk, work: UnitOfWork, match: Match, bodies: Sequence[Mapping[str, Any]]) -> list[Receipt]:
    check_open(match)
    faults = [
        Fault((place, *fault.path), fault.value, fault.expected)
        for place, body in enumerate(bodies)
        for fault in point_faults(body)
    ]
    if faults:
        raise Refused(faults)
    entries = [new_entry(match, place, body, desk.now()) for place, body in enumerate(bodies, 1)]
    steps(match, [*work.points.of_match(match.id), *entries])  # refuses what cannot follow
    return append(work, match, work.points, entries)
