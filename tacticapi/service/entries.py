"""Entries of a match: added one after the other, corrected by another entry, never changed."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

from tacticapi.service.desk import Desk
from tacticapi.service.errors import NotFound, refuse
from tacticapi.service.once import Done, Once, done_once
from tacticapi.store import Entries, Entry, Match, UnitOfWork, new_id

Kept = TypeVar("Kept", bound=Entry)


@dataclass(frozen=True, slots=True)
class Receipt:
    """What was added: its id, its sequence number in the match (also the match's revision now), and when."""

    id: str
    sequence: int
    recorded_at: datetime


def standing(entries: Iterable[Kept]) -> list[Kept]:
    """The entries that stand, in the order in which they were first made.

    A line of corrections stands by its newest entry, at the place of its first. Withdrawn lines are left out.
    """
    first: dict[str, str] = {}
    newest: dict[str, Kept] = {}
    for entry in entries:
        root = first.get(entry.supersedes, entry.id) if entry.supersedes else entry.id
        first[entry.id] = root
        newest[root] = entry
    return [entry for entry in newest.values() if entry.body is not None]


def known_match(work: UnitOfWork, match_id: str) -> Match:
    """The match of this club. Raises NotFound."""
    match = work.matches.get(match_id)
    if match is None:
        raise NotFound("match", match_id)
    return match


def locked_match(work: UnitOfWork, match_id: str) -> Match:
    """The match, kept from other writers until the unit of work ends. Raises NotFound."""
    match = work.matches.locked(match_id)
    if match is None:
        raise NotFound("match", match_id)
    return match


def check_open(match: Match) -> None:
    """Raises Refused for a match that has ended."""
    if match.status == "ended":
        raise refuse("a match that has not ended")


def new_entry(
    match: Match, place: int, body: Mapping[str, Any] | None, now: datetime, supersedes: str | None = None
) -> Entry:
    """The entry that comes as number `place` (from 1) after what the match holds."""
    return Entry(match.club_id, new_id(), match.id, match.revision + place, supersedes, body, now)


def added_once(
    desk: Desk, club_id: str, match_id: str, once: Once | None, do: Callable[[UnitOfWork, Match], Done]
) -> Done:
    """What `do` made of a match that is locked for it, or made when the same request came before.

    Raises NotFound, IdempotencyConflict, and what `do` raises.
    """
    with desk.work(club_id) as work:
        known_match(work, match_id)
        answer = done_once(work, once, desk.now(), lambda: do(work, locked_match(work, match_id)))
        work.commit()
    return answer


def append(work: UnitOfWork, match: Match, repository: Entries[Kept], entries: Sequence[Kept]) -> list[Receipt]:
    """Add entries to a locked match and raise its revision by as many."""
    repository.add_all(entries)
    work.matches.update(match.id, {"revision": match.revision + len(entries)})
    return [Receipt(entry.id, entry.sequence, entry.recorded_at) for entry in entries]


def check_correctable(repository: Entries[Kept], match: Match, entry_id: str) -> Kept:
    """The entry that is to be superseded. Raises NotFound; Refused when another entry superseded it already."""
    entry = repository.get(entry_id)
    if entry is None or entry.match_id != match.id:
        raise NotFound("entry", entry_id)
    successor = repository.successor(match.id, entry_id)
    if successor is not None:
        raise refuse(f"the newest entry of its line: {successor.id} superseded this one", "supersedes", value=entry_id)
    if entry.body is None:
        raise refuse("an entry that stands: this one withdrew another", "supersedes", value=entry_id)
    return entry
