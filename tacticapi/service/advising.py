"""Live advice on a kept match: from what is kept, kept itself, so that it can be looked up, judged and recomputed."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.advice import Trace
from tacticapi.domain.advice import Advice
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Moment
from tacticapi.service.codec import decode, encode
from tacticapi.service.desk import Desk
from tacticapi.service.earlier import told_apart
from tacticapi.service.entries import known_match, locked_match
from tacticapi.service.errors import NotFound
from tacticapi.service.permits import check_moment, withheld_now
from tacticapi.service.situations import Kept, read_kept, situation
from tacticapi.store import Match, Snapshot, UnitOfWork, new_id

HEALTH_REMOVED = "health items removed"


@dataclass(frozen=True, slots=True)
class Live:
    """Advice with the id under which it is kept. `revision` is the match's that it was given for."""

    id: str
    match_id: str
    revision: int
    advice: Advice
    health_removed: bool = False


def live_advice(
    desk: Desk,
    club_id: str,
    match_id: str,
    moment: Moment,
    *,
    limit: int | None = None,
    minutes_left: float | None = None,
) -> Live:
    """Advise on a match at a moment and keep the advice.

    While nothing has changed since the newest advice, that advice is the answer, and the rules do not run.
    Raises NotFound; Refused for a moment that the match is not at, since permissions depend on the moment.
    """
    with desk.reading(club_id) as work:
        match, latest = known_match(work, match_id), work.snapshots.latest(match_id)
        question = {"moment": moment.value, "limit": limit, "minutes_left": minutes_left}
        if latest and _still_answers(latest, question, match, desk.rulebook.digest):
            return _live(latest)
        kept = read_kept(work, match_id)
    check_moment(desk, kept, moment)
    asked = situation(kept, moment, desk.rulebook, limit=limit, minutes_left=minutes_left)
    snapshot = _snapshot(desk, kept, asked)
    with desk.work(club_id) as work:
        same = _stands(locked_match(work, match_id)) == _stands(kept.match)
        if same:
            work.snapshots.add(snapshot)
            work.commit()
    # where the match ended or a player was erased while the rules ran, what this advice rests on must not be kept
    return (
        _live(snapshot)
        if same
        else live_advice(desk, club_id, match_id, moment, limit=limit, minutes_left=minutes_left)
    )


def _stands(match: Match) -> tuple[str, str | None, str | None]:
    return match.status, match.own_id, match.opponent_id


def readable(desk: Desk, club_id: str, snapshot_id: str) -> tuple[Snapshot, Advice | None]:
    """Return a snapshot, and safety and notice alone if nothing else may be read of its match now. Raises NotFound."""
    with desk.reading(club_id) as work:
        snapshot = known_snapshot(work, snapshot_id)
        return snapshot, withheld_now(desk, read_kept(work, snapshot.match_id))


def known_snapshot(work: UnitOfWork, snapshot_id: str) -> Snapshot:
    """The snapshot of this club. Raises NotFound."""
    snapshot = work.snapshots.get(snapshot_id)
    if snapshot is None:
        raise NotFound("advice", snapshot_id)
    return snapshot


def _still_answers(latest: Snapshot, question: Mapping[str, Any], match: Match, digest: str) -> bool:
    """Whether the newest advice answers what is asked now: the same question, and nothing has changed since."""
    same = all(latest.situation[name] == value for name, value in question.items())
    return same and (latest.revision, latest.rulebook_digest) == (match.revision, digest)


def _snapshot(desk: Desk, kept: Kept, asked: Situation) -> Snapshot:
    # asked about one tactic, a trace costs no more than the advice alone
    trace = desk.adviser.trace(asked, next(iter(desk.rulebook.tactics)))
    match, advice = kept.match, told_apart(trace.advice, asked, desk.rulebook)
    return Snapshot(
        club_id=match.club_id,
        id=new_id(),
        match_id=match.id,
        moment=asked.moment.value,
        revision=match.revision,
        situation=encode(asked),
        rulebook_version=advice.version,
        rulebook_digest=advice.digest,
        fired=_fired(trace),
        advice=encode(advice),
        health_removed=False,
        created_at=desk.now(),
    )


def _fired(trace: Trace) -> list[Any]:
    facts = trace.inference.facts
    return [
        {"rule": match.rule, "facts": [encode(facts[place]) for place in match.facts]}
        for match in trace.inference.matches
    ]


def _live(snapshot: Snapshot) -> Live:
    advice = decode(Advice, snapshot.advice)
    return Live(snapshot.id, snapshot.match_id, snapshot.revision, advice, snapshot.health_removed)
