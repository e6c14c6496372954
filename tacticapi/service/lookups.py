"""Looking up what is kept: single entries, advice that was given, what became of it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from tacticapi.domain.advice import Advice
from tacticapi.service.advising import readable
from tacticapi.service.codec import decode
from tacticapi.service.desk import Desk
from tacticapi.service.entries import known_match
from tacticapi.service.errors import NotFound
from tacticapi.store import Entries, Entry, Feedback, Snapshot

Noun = Literal["observations", "points", "tries"]


@dataclass(frozen=True, slots=True)
class Given:
    """Advice that was given. If only safety may be read now, it is safety and notice of now, and input is None."""

    snapshot: Snapshot
    advice: Advice
    situation: Mapping[str, Any] | None
    fired: tuple[Any, ...]


def entry(desk: Desk, club_id: str, match_id: str, noun: Noun, entry_id: str) -> Entry:
    """One entry of the match, also a superseded one. Raises NotFound."""
    with desk.reading(club_id) as work:
        known_match(work, match_id)
        repository: Entries[Entry] = getattr(work, noun)
        found = repository.get(entry_id)
    if found is None or found.match_id != match_id:
        raise NotFound("entry", entry_id)
    return found


def entries_page(
    desk: Desk, club_id: str, match_id: str, noun: Noun, *, after: int = 0, limit: int = 100, **equal: Any
) -> list[Entry]:
    """At most `limit` entries after a sequence number, superseded and withdrawing ones included. Raises NotFound.

    `equal` asks for observations of this kind, set_number or game_number alone.
    """
    with desk.reading(club_id) as work:
        known_match(work, match_id)
        repository: Entries[Entry] = getattr(work, noun)
        return repository.page(match_id, after, limit, **equal)


def advice_page(desk: Desk, club_id: str, match_id: str, *, after: str | None, limit: int) -> list[Snapshot]:
    """At most `limit` advices of a match after an id, oldest first. Raises NotFound."""
    with desk.reading(club_id) as work:
        known_match(work, match_id)
        return work.snapshots.find(after=after, limit=limit, match_id=match_id)


def feedback_page(desk: Desk, club_id: str, match_id: str, *, after: str | None, limit: int) -> list[Feedback]:
    """At most `limit` lines of feedback on the advice of a match after an id, oldest first. Raises NotFound."""
    with desk.reading(club_id) as work:
        known_match(work, match_id)
        found = work.feedback.of_match(match_id)
    return [one for one in found if after is None or one.id > after][:limit]


def given_advice(desk: Desk, club_id: str, advice_id: str) -> Given:
    """Advice that was given, with the input and the fired rules that it rested on. Raises NotFound.

    While the match is played it is read as between points, the narrowest moment, whatever moment it was for: if the
    event does not permit advice then, or a danger sign or pain stops play, safety and notice of now replace it.
    """
    snapshot, instead = readable(desk, club_id, advice_id)
    advice = decode(Advice, snapshot.advice)
    if instead is None:
        return Given(snapshot, advice, snapshot.situation, tuple(snapshot.fired))
    return Given(snapshot, replace(instead, moment=advice.moment), None, ())
