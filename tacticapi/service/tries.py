"""Tries: how often a tactic was played as meant, and the points won by it."""

from collections.abc import Iterable, Mapping
from typing import Any

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import MOST_TRIED
from tacticapi.knowledge import Fault
from tacticapi.service.codec import decode
from tacticapi.service.desk import Desk
from tacticapi.service.entries import Receipt, added_once, append, check_correctable, check_open, new_entry, standing
from tacticapi.service.errors import Refused
from tacticapi.service.once import Done, Once, done
from tacticapi.service.tried import SUM_EXPECTED, current_tactic, merged_tries
from tacticapi.store import Entry, Match, UnitOfWork

_TACTIC = "the id of a tactic"


def add(
    desk: Desk,
    club_id: str,
    match_id: str,
    body: Mapping[str, Any],
    *,
    supersedes: str | None = None,
    once: Once | None = None,
) -> Receipt:
    """Add {tactic, tried, won}; tries of one tactic add up, a correction replaces.

    Raises NotFound, Refused, IdempotencyConflict.
    """
    if faults := try_faults(desk, body):
        raise Refused(faults)
    return _added(desk, (club_id, match_id), body, supersedes, once)


def withdraw(desk: Desk, club_id: str, match_id: str, entry_id: str, *, once: Once | None = None) -> Receipt:
    """Take back an entry. Raises NotFound, Refused."""
    return _added(desk, (club_id, match_id), None, entry_id, once)


def try_faults(desk: Desk, body: Mapping[str, Any]) -> list[Fault]:
    """Return the faults of {tactic, tried, won}."""
    tactic = body.get("tactic")
    unknown = isinstance(tactic, str) and current_tactic(tactic, desk.rulebook) is None
    return [*([Fault(("tactic",), tactic, _TACTIC)] if unknown else []), *shape_faults(body)]


def shape_faults(body: Mapping[str, Any]) -> list[Fault]:
    """Return the faults that do not depend on which tactics the rules know."""
    found = [Fault((name,), body[name], "tactic, tried or won") for name in body.keys() - {"tactic", "tried", "won"}]
    if not isinstance(body.get("tactic"), str):
        found.append(Fault(("tactic",), body.get("tactic"), _TACTIC))
    tried, won = body.get("tried"), body.get("won")
    for name, value in (("tried", tried), ("won", won)):
        if type(value) is not int or not 0 <= value <= MOST_TRIED:
            found.append(Fault((name,), value, f"a whole number from 0 to {MOST_TRIED:,}"))
    if type(tried) is int and type(won) is int and won > tried:
        found.append(Fault(("won",), won, f"at most the {tried} in tried"))
    return found


def sum_faults(entries: Iterable[Entry], rulebook: Rulebook) -> list[Fault]:
    """Return the faults of all tries of a match together: of each tactic no more than one entry may hold."""
    summed = merged_tries((entry.body for entry in standing(entries) if entry.body), rulebook)
    return [Fault(("tried",), one.tried, SUM_EXPECTED) for one in summed if one.tried > MOST_TRIED]


def _added(
    desk: Desk, at: tuple[str, str], body: Mapping[str, Any] | None, supersedes: str | None, once: Once | None
) -> Receipt:
    def do(work: UnitOfWork, match: Match) -> Done:
        check_open(match)
        if supersedes is not None:
            check_correctable(work.tries, match, supersedes)
        entry = new_entry(match, 1, body, desk.now(), supersedes)
        if found := sum_faults([*work.tries.of_match(match.id), entry], desk.rulebook):
            raise Refused(found)
        return done(append(work, match, work.tries, [entry])[0])

    return decode(Receipt, added_once(desk, *at, once, do))
