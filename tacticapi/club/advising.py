"""Advice on a kept match: give, keep and look it up, take feedback, and replay it by today's rules."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from tacticapi.advice import Adviser, Trace
from tacticapi.club.clubs import known_club
from tacticapi.club.codec import decode, encode
from tacticapi.club.dossier import told_apart
from tacticapi.club.entries import known_match, locked_match
from tacticapi.club.services import IdempotentRequest, Services, done_once, found, refuse
from tacticapi.club.situations import KeptMatch, check_moment, read_kept, situation, withheld_now
from tacticapi.domain.advice import Advice
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Moment, Situation
from tacticapi.posted import current_tactic
from tacticapi.rulebook.evaluator import TooManyMatches
from tacticapi.store import Feedback, Match, Snapshot, UnitOfWork, new_id

USED, NOT_USED, OUTCOME = KINDS = "used", "not-used", "outcome"
OUTCOMES = ("helped", "made no difference", "did not help")
MAX_REASON = 500
Advised = Mapping[str, Any]  # advice as it is kept
WhyNot = Callable[[str], str]
SAME, DIFFERS, LEFT_OUT = "same", "differs", "left out"
HEALTH_REMOVED = "health items removed"
UNREADABLE = "its situation is one that this version cannot read"
WITHHELD = "its match is being played, and only safety may be shown of it now"
TOO_MANY = "its situation fits today's rules in too many ways"
AT_ONCE = 64  # pieces of advice replayed at once
NOT_COMPARED = frozenset({"version", "digest"})  # they say which rules answered, not what


@dataclass(frozen=True, slots=True)
class Live:
    """Advice with the id under which it is kept. `revision` is the match's that it was given for."""

    id: str
    match_id: str
    revision: int
    advice: Advice
    health_removed: bool = False


def live_advice(
    services: Services,
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
    with services.reading(club_id) as work:
        match, latest = known_match(work, match_id), work.snapshots.latest(match_id)
        question = {"moment": moment.value, "limit": limit, "minutes_left": minutes_left}
        if latest and _still_answers(latest, question, match, services.rulebook.digest):
            return _live(latest)
        kept = read_kept(work, match_id)
    check_moment(services, kept, moment)
    asked = situation(kept, moment, services.rulebook, limit=limit, minutes_left=minutes_left)
    snapshot = _snapshot(services, kept, asked)
    with services.work(club_id) as work:
        same = _stands(locked_match(work, match_id)) == _stands(kept.match)
        if same:
            work.snapshots.add(snapshot)
            work.commit()
    if same:
        return _live(snapshot)
    # the match ended or a player was erased while the rules ran: what this advice rests on must not be kept
    return live_advice(services, club_id, match_id, moment, limit=limit, minutes_left=minutes_left)


def _stands(match: Match) -> tuple[str, str | None, str | None]:
    return match.status, match.own_id, match.opponent_id


def readable(services: Services, club_id: str, snapshot_id: str) -> tuple[Snapshot, Advice | None]:
    """Return a snapshot, and safety and notice alone if nothing else may be read of its match now. Raises NotFound."""
    with services.reading(club_id) as work:
        snapshot = known_snapshot(work, snapshot_id)
        return snapshot, withheld_now(services, read_kept(work, snapshot.match_id))


def known_snapshot(work: UnitOfWork, snapshot_id: str) -> Snapshot:
    """Return the snapshot of this club. Raises NotFound."""
    return found(work.snapshots.get(snapshot_id), "advice", snapshot_id)


def _still_answers(latest: Snapshot, question: Mapping[str, Any], match: Match, digest: str) -> bool:
    """Return whether the newest advice answers what is asked now: the same question, and nothing has changed since."""
    same = all(latest.situation[name] == value for name, value in question.items())
    return same and (latest.revision, latest.rulebook_digest) == (match.revision, digest)


def _snapshot(services: Services, kept: KeptMatch, asked: Situation) -> Snapshot:
    # asked about one tactic, a trace costs no more than the advice alone
    trace = services.adviser.trace(asked, next(iter(services.rulebook.tactics)))
    match, advice = kept.match, told_apart(trace.advice, asked)
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
        created_at=services.now(),
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


@dataclass(frozen=True, slots=True)
class RecordedAdvice:
    """Advice that was given. If only safety may be read now, it is safety and notice of now, and input is None."""

    snapshot: Snapshot
    advice: Advice
    situation: Mapping[str, Any] | None
    fired: tuple[Any, ...]


def advice_page(services: Services, club_id: str, match_id: str, *, after: str | None, limit: int) -> list[Snapshot]:
    """Return at most `limit` advices of a match after an id, oldest first. Raises NotFound."""
    with services.reading(club_id) as work:
        known_match(work, match_id)
        return work.snapshots.find(after=after, limit=limit, match_id=match_id)


def feedback_page(services: Services, club_id: str, match_id: str, *, after: str | None, limit: int) -> list[Feedback]:
    """Return at most `limit` lines of feedback on the advice of a match after an id, oldest first. Raises NotFound."""
    with services.reading(club_id) as work:
        known_match(work, match_id)
        lines = work.feedback.of_match(match_id)
    return [one for one in lines if after is None or one.id > after][:limit]


def given_advice(services: Services, club_id: str, advice_id: str) -> RecordedAdvice:
    """Advice that was given, with the input and the fired rules that it rested on. Raises NotFound.

    While the match is played it is read as between points, the narrowest moment, whatever moment it was for: if the
    event does not permit advice then, or a danger sign or pain stops play, safety and notice of now replace it.
    """
    snapshot, instead = readable(services, club_id, advice_id)
    advice = decode(Advice, snapshot.advice)
    if instead is None:
        return RecordedAdvice(snapshot, advice, snapshot.situation, tuple(snapshot.fired))
    return RecordedAdvice(snapshot, replace(instead, moment=advice.moment), None, ())


def add_feedback(
    services: Services,
    club_id: str,
    advice_id: str,
    tactic: str,
    *,
    kind: str,
    reason: str | None = None,
    once: IdempotentRequest | None = None,
) -> Feedback:
    """Keep that a suggestion was used, was not used (with the reason), or its outcome (a word of OUTCOMES).

    Points won by it are tries, not feedback. Raises NotFound, Refused, IdempotencyConflict.
    """
    _check_feedback(kind, reason)

    def do() -> Mapping[str, str]:
        snapshot = known_snapshot(work, advice_id)
        if tactic not in {shown["tactic"] for shown in snapshot.advice["suggestions"]}:
            raise refuse("a tactic that this advice suggested", "tactic", value=tactic)
        line = Feedback(club_id, new_id(), snapshot.id, tactic, kind, reason, services.now())
        work.feedback.add(line)
        return {"id": line.id}

    with services.work(club_id) as work:
        made = work.feedback.get(done_once(work, once, services.now(), do)["id"])
        work.commit()
    return found(made, "feedback", advice_id)


def _check_feedback(kind: str, reason: str | None) -> None:
    if kind not in KINDS:
        raise refuse(f"one of {', '.join(KINDS)}", "kind", value=kind)
    if kind == OUTCOME and reason not in OUTCOMES:
        raise refuse(f"one of {', '.join(OUTCOMES)}", "reason", value=reason)
    if kind == NOT_USED and not reason:
        raise refuse("the reason why it was not used", "reason")
    if kind == USED and reason is not None:
        raise refuse("no reason beside used", "reason", value=reason)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one piece of advice: `sort` is same, differs or left out; `told` says what and why."""

    id: str
    match_id: str
    moment: str
    sort: str
    told: tuple[str, ...] = ()


def advice_count(services: Services, club_id: str) -> int:
    """Return how many pieces of advice are kept of a club. Raises NotFound."""
    with services.reading(club_id) as work:
        known_club(work)
        return len(work.snapshots.ids())


def replay(services: Services, club_id: str) -> Iterator[Outcome]:
    """Recompute all advice that is kept of a club, oldest first. Raises NotFound."""
    after: str | None = None
    while True:
        with services.reading(club_id) as work:
            known_club(work)
            page = work.snapshots.find(after=after, limit=AT_ONCE)
            silent = {m for m in {s.match_id for s in page} if withheld_now(services, read_kept(work, m))}
        if not page:
            return
        for snapshot in page:
            if snapshot.match_id in silent:
                yield _outcome(snapshot, LEFT_OUT, WITHHELD)
            else:
                yield recompute(snapshot, services.adviser)
        after = page[-1].id


def recompute(snapshot: Snapshot, adviser: Adviser) -> Outcome:
    """Give a piece of advice again. What today's rules do not know any more is told and left out."""
    if snapshot.health_removed:
        return _outcome(snapshot, LEFT_OUT, HEALTH_REMOVED)
    try:
        asked, gone = known_to(adviser.rulebook, decode(Situation, snapshot.situation))
    except (ValueError, TypeError) as error:
        return _outcome(snapshot, LEFT_OUT, f"{UNREADABLE} ({error})")
    try:
        now = encode(told_apart(adviser.recommend(asked), asked))
    except TooManyMatches:
        return _outcome(snapshot, LEFT_OUT, TOO_MANY)
    told = differences(snapshot.advice, now, lambda tactic: why_not(tactic, asked, adviser))
    return _outcome(snapshot, DIFFERS, *told, *gone) if told else _outcome(snapshot, SAME, *gone)


def known_to(rulebook: Rulebook, asked: Situation) -> tuple[Situation, tuple[str, ...]]:
    """Return the situation without what these rules do not know, and what that was in words."""
    kinds = rulebook.kinds
    gone = {seen.what for seen in asked.observations if seen.what not in kinds}
    gone |= {tries.tactic for tries in asked.tries if tries.tactic not in rulebook.tactics}
    planned = asked.plan if asked.plan and asked.plan.tactic in rulebook.tactics else None
    gone |= {asked.plan.tactic} if asked.plan and not planned else set()
    kept: dict[str, Any] = {
        # places must follow the list again, since evidence names observations by them
        "observations": tuple(
            replace(seen, index=place)
            for place, seen in enumerate(seen for seen in asked.observations if seen.what in kinds)
        ),
        "tries": tuple(tries for tries in asked.tries if tries.tactic in rulebook.tactics),
        "plan": planned,
    }
    if not gone:
        return asked, ()
    return replace(asked, **kept), (f"today's rules do not know {', '.join(sorted(gone))}",)


def why_not(tactic: str, asked: Situation, adviser: Adviser) -> str:
    """Why today's rules do not suggest a tactic in this situation."""
    rulebook = adviser.rulebook
    if tactic not in rulebook.tactics:
        return "today's rules do not have it"
    if instead := rulebook.tactics[tactic].deprecated:
        replaced = current_tactic(tactic, rulebook)
        return f"it is retired; {instead if replaced == tactic else replaced or 'nothing'} stands in its place"
    questions = adviser.trace(asked, tactic).questions
    return questions[0].why or questions[0].verdict if questions else "nothing but safety is shown by today's rules"


def _outcome(snapshot: Snapshot, sort: str, *told: str) -> Outcome:
    return Outcome(snapshot.id, snapshot.match_id, snapshot.moment, sort, told)


def differences(then: Advised, now: Advised, why_not: WhyNot) -> tuple[str, ...]:
    """Return what differs, safety first; nothing if both say the same.

    why_not: says of a tactic why today's rules do not suggest it here.
    """
    others = [name for name in sorted(now) if name not in NOT_COMPARED and then.get(name) != now[name]]
    told = [*_lines("safety", then, now, lambda tactic: "by today's rules"), *_lines("suggestions", then, now, why_not)]
    return (*told, f"other words or figures in {', '.join(others)}") if others else ()


def _lines(where: str, then: Advised, now: Advised, why_not: WhyNot) -> Iterator[str]:
    """Yield what was said then and is not said now, then what is new."""
    before, after = ({line["tactic"] for line in each[where]} for each in (then, now))
    said = "said as safety" if where == "safety" else "suggested"
    yield from (f"{one} is no longer {said}: {why_not(one)}" for one in sorted(before - after))
    yield from (f"{one} is now {said}" for one in sorted(after - before))
