"""Give, store and look up advice on a stored match, record feedback on it, and replay it with today's rules."""

import logging
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.club.clubs import known_club
from tacticapi.club.codec import decode, encode, rounded
from tacticapi.club.dossier import told_apart
from tacticapi.club.entries import known_match, locked_match
from tacticapi.club.services import UNWRITTEN, Once, Refused, Services, done_once, found, refuse, standing
from tacticapi.club.situations import (
    KeptMatch,
    as_it_was,
    check_moment,
    question,
    read_kept,
    situation,
    situation_then,
    withheld_now,
)
from tacticapi.domain.advice import Advice
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Moment, Situation
from tacticapi.posted import current_tactic
from tacticapi.rulebook.evaluator import TooManyMatches
from tacticapi.store import Feedback, Match, Snapshot, UnitOfWork, new_id, shut

USED, NOT_USED, OUTCOME = KINDS = "used", "not-used", "outcome"
OUTCOMES = ("helped", "made no difference", "did not help")
MAX_REASON = 500
MAX_ADVICE = 500  # newest pieces of advice stored per match; those with feedback are kept as well
MAX_FEEDBACK = 1_000  # feedback entries per match
CANDIDATE = "candidate/"  # prefix of the rules that name tactics which one more observation could decide between
NOT_KEPT = "This advice could not be stored, so you cannot read it again or give feedback on it."
UNREADABLE = (ValueError, TypeError, KeyError, Refused)  # a situation that this version does not understand
log = logging.getLogger(__name__)
Advised = Mapping[str, Any]  # advice as it is stored
WhyNot = Callable[[str], str]
SAME, DIFFERS, LEFT_OUT = "same", "differs", "left out"
WITHHELD = "its match is in progress, and only safety advice may be shown now"
AT_ONCE = 64  # pieces of advice replayed per batch
NOT_COMPARED = frozenset({"version", "digest"})  # they identify the rules, not the advice


@dataclass(frozen=True, slots=True)
class StoredAdvice:
    """Advice as stored; `given_advice` adds its situation, if it can be read, and the rules that fired."""

    snapshot: Snapshot
    advice: Advice
    situation: Mapping[str, Any] | None = None
    fired: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """Return the id of the advice."""
        return self.snapshot.id


def live_advice(
    services: Services,
    club_id: str,
    match_id: str,
    moment: Moment,
    *,
    limit: int | None = None,
    minutes_left: float | None = None,
) -> StoredAdvice:
    """Give advice on a match at a moment, and store it.

    If nothing has changed since the newest advice, return that advice without running the rules. If new advice equals
    the newest advice, no second copy is stored. If the disk is full or the database is read-only, advice is still
    given, with a notice that it was not stored. Raises NotFound; Refused if the match is not at this moment, because
    permissions depend on the moment.
    """
    asked = (moment.value, limit, minutes_left)
    while True:
        with services.reading(club_id) as work:
            match, latest = known_match(work, match_id), work.snapshots.latest(match_id)
            now = (asked, match.revision, services.rulebook.digest)
            if latest and (_question(latest), latest.confirmed, latest.rulebook_digest) == now:
                return StoredAdvice(latest, decode(Advice, latest.advice))
            kept = read_kept(work, match_id)
        check_moment(services, kept, moment)
        given = _snapshot(services, kept, moment, limit, minutes_left)
        packed, advice = shut(given), decode(Advice, given.advice)
        try:
            with services.work(club_id) as work:
                match = locked_match(work, match_id)
                # while the rules ran, the match may have ended, a player may have been erased, or another request
                # may have asked the same: then neither erased data nor a second copy of the advice may be stored
                if _stands(match) == _stands(kept.match) and work.snapshots.latest(match_id) == kept.latest:
                    given = _keep(work, given, packed, kept.latest)
                    return StoredAdvice(given, advice)
        except UNWRITTEN:
            log.warning("advice could not be stored")
            return StoredAdvice(given, replace(advice, notice=(*advice.notice, NOT_KEPT)))


def _keep(work: UnitOfWork, given: Snapshot, packed: Snapshot, latest: Snapshot | None) -> Snapshot:
    """Add a packed snapshot, or confirm the newest if it is equal; delete the oldest ones beyond MAX_ADVICE."""
    if latest and _question(latest) == _question(given) and _said(latest) == _said(given):
        work.snapshots.update(latest.id, {"confirmed": given.revision})
        return replace(latest, confirmed=given.revision)
    work.snapshots.delete_beyond(given.match_id, MAX_ADVICE - 1)
    work.snapshots.add(packed)
    return given


def _stands(match: Match) -> tuple[str, str | None, str | None]:
    return match.status, match.own_id, match.opponent_id


Recorded = tuple[KeptMatch, Snapshot, Snapshot | None]  # advice, its stored match, the advice before it


def recorded(work: UnitOfWork, snapshot: Snapshot, kept: KeptMatch) -> Recorded:
    """Return a snapshot with its match and the snapshot before it."""
    previous = snapshot.question["previous"]
    return kept, snapshot, work.snapshots.get(previous) if previous else None


def _question(given: Snapshot) -> tuple[str, int | None, float | None]:
    return given.moment, given.question["limit"], given.question["minutes_left"]


def _said(given: Snapshot) -> tuple[Any, ...]:
    return given.rulebook_digest, given.advice, given.fired, given.health_removed


def _snapshot(
    services: Services, kept: KeptMatch, moment: Moment, limit: int | None, minutes_left: float | None
) -> Snapshot:
    asked = situation(kept, moment, services.rulebook, limit=limit, minutes_left=minutes_left)
    # with one tactic in the query, a trace costs no more than the advice alone
    trace = services.adviser.trace(asked, next(iter(services.rulebook.tactics)))
    match, advice = kept.match, told_apart(trace.advice, asked)
    return Snapshot(
        club_id=match.club_id,
        id=new_id(kept.latest.id if kept.latest else None),
        match_id=match.id,
        moment=moment.value,
        revision=match.revision,
        confirmed=match.revision,
        question=encode(question(kept, limit, minutes_left)),
        rulebook_version=advice.version,
        rulebook_digest=advice.digest,
        fired=[one.rule for one in trace.inference.matches if not one.rule.startswith(CANDIDATE)],
        advice=as_told(advice),
        health_removed=False,
        created_at=services.now(),
    )


def as_told(advice: Advice) -> Advised:
    """Return advice as it is stored, with numbers rounded to DIGITS digits."""
    told: Advised = rounded(encode(advice))
    return told


def given_advice(services: Services, club_id: str, advice_id: str) -> StoredAdvice:
    """Return stored advice with its input and the rules that fired. Raises NotFound.

    During the match, the request counts as one between points: if advice is not permitted then, the current safety
    lines and notice replace it.
    """
    with services.reading(club_id) as work:
        snapshot = found(work.snapshots.get(advice_id), "advice", advice_id)
        kept = read_kept(work, snapshot.match_id)
        given = recorded(work, snapshot, kept)
    advice, instead = decode(Advice, snapshot.advice), withheld_now(services, kept)
    if instead is not None:
        return StoredAdvice(snapshot, replace(instead, moment=advice.moment))
    try:
        asked = encode(situation_then(*given, services.rulebook))
    except UNREADABLE:
        asked = None
    return StoredAdvice(snapshot, advice, asked, tuple(snapshot.fired))


def add_feedback(
    services: Services,
    club_id: str,
    advice_id: str,
    tactic: str,
    *,
    kind: str,
    reason: str | None = None,
    once: Once = None,
) -> Feedback:
    """Store whether a suggestion was used, or how it turned out. Raises NotFound, Refused, IdempotencyConflict."""
    check_feedback(kind, reason)

    def do() -> Mapping[str, str]:
        snapshot = found(work.snapshots.get(advice_id), "advice", advice_id)
        if tactic not in {shown["tactic"] for shown in snapshot.advice["suggestions"]}:
            raise refuse("a tactic that this advice suggested", "tactic", value=tactic)
        if work.feedback.count(snapshot.match_id) >= MAX_FEEDBACK:
            raise refuse(f"at most {MAX_FEEDBACK:,} feedback entries on one match")
        line = Feedback(club_id, work.feedback.new_id(), snapshot.id, tactic, kind, reason, services.now())
        work.feedback.add(line)
        return {"id": line.id}

    with services.work(club_id) as work:
        return found(work.feedback.get(done_once(work, once, services.now(), do)["id"]), "feedback", advice_id)


def check_feedback(kind: str, reason: str | None) -> None:
    """Check the reason given for this kind of feedback. Raises Refused."""
    if kind not in KINDS:
        raise refuse(f"one of {', '.join(KINDS)}", "kind", value=kind)
    if kind == OUTCOME and reason not in OUTCOMES:
        raise refuse(f"one of {', '.join(OUTCOMES)}", "reason", value=reason)
    if kind == NOT_USED and not reason:
        raise refuse("the reason why it was not used", "reason")
    if kind == USED and reason is not None:
        raise refuse("no reason if the kind is `used`", "reason", value=reason)


@dataclass(frozen=True, slots=True)
class Outcome:
    """The replay of one piece of advice: `sort` is same, differs or left out; `told` lists differences with reasons."""

    id: str
    match_id: str
    moment: str
    sort: str
    told: tuple[str, ...] = ()


def replay(services: Services, club_id: str) -> Iterator[Outcome]:
    """Recompute all the advice stored for a club, oldest first. Raises NotFound."""
    after: str | None = None
    while True:
        with services.reading(club_id) as work:
            known_club(work)
            page = work.snapshots.find(after=after, limit=AT_ONCE)
            kept = {match_id: read_kept(work, match_id) for match_id in {one.match_id for one in page}}
            given = [recorded(work, one, kept[one.match_id]) for one in page]
        if not page:
            return
        silent = {match_id for match_id, one in kept.items() if withheld_now(services, one)}
        for one in given:
            if one[1].match_id in silent:
                yield _outcome(one[1], LEFT_OUT, WITHHELD)
            else:
                yield recompute(one, services.adviser)
        after = page[-1].id


def recompute(given: Recorded, adviser: Adviser) -> Outcome:
    """Recompute a piece of advice. If today's rules lack a kind or tactic that it needs, report it as left out."""
    (_, snapshot, before), rulebook = given, adviser.rulebook
    if snapshot.health_removed:
        return _outcome(snapshot, LEFT_OUT, "health items removed")
    if snapshot.question["previous"] and before is None:
        return _outcome(snapshot, LEFT_OUT, "the advice before it is no longer stored")
    try:
        asked, gone = situation_then(*given, rulebook), _unknown(given, rulebook)
    except UNREADABLE as error:
        return _outcome(snapshot, LEFT_OUT, f"this version cannot read its situation ({error})")
    try:
        now = as_told(told_apart(adviser.recommend(asked, profile=True), asked))
    except TooManyMatches:
        return _outcome(snapshot, LEFT_OUT, "its situation fits today's rules in too many ways")
    told = differences(snapshot.advice, now, lambda tactic: why_not(tactic, asked, adviser))
    return _outcome(snapshot, DIFFERS, *told, *gone) if told else _outcome(snapshot, SAME, *gone)


def _unknown(given: Recorded, rulebook: Rulebook) -> tuple[str, ...]:
    """Return a message listing the kinds and tactics in the situation that these rules lack."""
    then = as_it_was(*given)
    gone = {entry.kind for entry in standing(then.observations) if entry.kind not in rulebook.kinds}
    tried = (entry.body["tactic"] for entry in standing(then.tries) if entry.body)
    gone |= {name for name in tried if current_tactic(name, rulebook) is None}
    return (f"today's rules do not know {', '.join(sorted(gone))}",) if gone else ()


def why_not(tactic: str, asked: Situation, adviser: Adviser) -> str:
    """Return why today's rules do not suggest a tactic in this situation."""
    rulebook = adviser.rulebook
    if tactic not in rulebook.tactics:
        return "today's rules do not have it"
    if instead := rulebook.tactics[tactic].deprecated:
        replaced = current_tactic(tactic, rulebook)
        return f"it is retired; use {instead if replaced == tactic else replaced or 'nothing'} instead"
    questions = adviser.trace(asked, tactic).questions
    return questions[0].why or questions[0].verdict if questions else "today's rules show only safety"


def _outcome(snapshot: Snapshot, sort: str, *told: str) -> Outcome:
    return Outcome(snapshot.id, snapshot.match_id, snapshot.moment, sort, told)


def differences(then: Advised, now: Advised, why_not: WhyNot) -> tuple[str, ...]:
    """Return the differences, safety first; `why_not` explains why today's rules do not suggest a tactic here."""
    others = [name for name in sorted(now) if name not in NOT_COMPARED and then.get(name) != now[name]]
    told = [*_lines("safety", then, now, lambda _: "not by today's rules"), *_lines("suggestions", then, now, why_not)]
    return (*told, f"different text or numbers in {', '.join(others)}") if others else ()


def _lines(where: str, then: Advised, now: Advised, why_not: WhyNot) -> Iterator[str]:
    before, after = ({line["tactic"] for line in each[where]} for each in (then, now))
    said = "shown as safety advice" if where == "safety" else "suggested"
    yield from (f"{one} is no longer {said}: {why_not(one)}" for one in sorted(before - after))
    yield from (f"{one} is now {said}" for one in sorted(after - before))
