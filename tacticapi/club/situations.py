"""Turn a stored match into a situation for advice; check its moment and what may be read at that moment."""

from collections.abc import Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import count
from typing import Any

from tacticapi.club.codec import decode
from tacticapi.club.entries import known_match
from tacticapi.club.scorekeeping import Step, own_errors, points_played, state_after, steps
from tacticapi.club.services import NotPermitted, Refused, Services, conflict, standing
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import belief_name
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Earlier, Moment, Phase, Previous, Situation
from tacticapi.posted import merged_tries, observation, profile
from tacticapi.rulebook.evaluator import TooManyMatches
from tacticapi.store import Entry, Match, ObservationEntry, Player, Snapshot, UnitOfWork


@dataclass(frozen=True, slots=True)
class KeptMatch:
    """All stored data on one match: entries with their history, the score step by step, and the newest advice."""

    match: Match
    own: Player | None
    opponent: Player | None
    observations: Sequence[ObservationEntry]
    tries: Sequence[Entry]
    points: Sequence[Entry]
    steps: Sequence[Step]
    latest: Snapshot | None


def read_kept(work: UnitOfWork, match_id: str) -> KeptMatch:
    """Return all stored data on a match. Raises NotFound."""
    match = known_match(work, match_id)
    own, opponent = (work.players.get(id) if id else None for id in (match.own_id, match.opponent_id))
    observations, tries = work.observations.of_match(match_id), work.tries.of_match(match_id)
    points, latest = work.points.of_match(match_id), work.snapshots.latest(match_id)
    return KeptMatch(match, own, opponent, observations, tries, points, steps(match, points), latest)


def situation(
    kept: KeptMatch,
    moment: Moment,
    rulebook: Rulebook,
    *,
    limit: int | None = None,
    minutes_left: float | None = None,
    gone: Collection[int] = (),
) -> Situation:
    """Return a match as a situation: its valid entries whose kinds and tactics are in this rulebook."""
    stood = standing(kept.observations, as_seen=True)
    seen = [entry.body for entry in stood if entry.body and entry.kind in rulebook.kinds]
    places = (place for place in count() if place not in gone)
    state, previous, latest = state_after(kept.steps), None, kept.latest
    if latest:
        shown, beliefs = latest.advice["suggestions"], latest.advice["beliefs"]
        probabilities = {belief_name(belief["trait"], belief["wing"]): belief["probability"] for belief in beliefs}
        previous = Previous(latest.id, shown[0]["tactic"] if shown else None, probabilities)
    return Situation(
        moment=moment,
        context=profile(kept.match.context),
        own=profile(_facts(kept.own, kept.match.own_facts)),
        opponent=profile(_facts(kept.opponent, kept.match.opponent_facts)),
        observations=tuple(
            observation(place, body, rulebook.kinds[body["what"]]) for place, body in zip(places, seen, strict=False)
        ),
        score=state.to_wire() if state else None,
        points_played=points_played(kept.steps),
        own_errors=own_errors(kept.steps),
        tries=merged_tries((entry.body for entry in standing(kept.tries) if entry.body), rulebook),
        limit=limit,
        minutes_left=minutes_left,
        previous=previous,
        earlier=tuple(decode(Earlier, one) for one in kept.match.earlier),
    )


@dataclass(frozen=True, slots=True)
class Question:
    """The input for advice apart from the match's entries: the query, and data that can change without an entry."""

    limit: int | None
    minutes_left: float | None
    context: Mapping[str, Any]
    own: Mapping[str, Any]
    opponent: Mapping[str, Any]
    first_server: str | None
    previous: str | None
    gone: tuple[int, ...] = ()


def question(kept: KeptMatch, limit: int | None = None, minutes_left: float | None = None) -> Question:
    """Return the question for advice on a match as it is now."""
    match, previous = kept.match, kept.latest.id if kept.latest else None
    own, opponent = _facts(kept.own, match.own_facts), _facts(kept.opponent, match.opponent_facts)
    return Question(limit, minutes_left, match.context, own, opponent, match.first_server, previous)


def as_it_was(kept: KeptMatch, given: Snapshot, before: Snapshot | None) -> KeptMatch:
    """Return a match as it was known when advice was given; `before` is the previous advice. Raises Refused."""
    asked = decode(Question, given.question)
    facts: dict[str, Any] = {"context": asked.context, "own_facts": asked.own, "opponent_facts": asked.opponent}
    match = replace(kept.match, **facts, first_server=asked.first_server)
    listed: tuple[Any, ...] = (kept.observations, kept.tries, kept.points)
    observations, tries, points = ([one for one in each if one.sequence <= given.revision] for each in listed)
    return KeptMatch(match, None, None, observations, tries, points, steps(match, points), before)


def situation_then(kept: KeptMatch, given: Snapshot, before: Snapshot | None, rulebook: Rulebook) -> Situation:
    """Return the situation in which advice was given, as far as it is still stored and covered by this rulebook."""
    asked, then, moment = decode(Question, given.question), as_it_was(kept, given, before), Moment(given.moment)
    return situation(then, moment, rulebook, limit=asked.limit, minutes_left=asked.minutes_left, gone=asked.gone)


def _facts(player: Player | None, overrides: Mapping[str, Any]) -> dict[str, Any]:
    return {**(player.facts if player else {}), **overrides}


UNCHECKED = "Only safety advice is shown: the observations match the rules in too many ways to rule out a danger sign."


def check_moment(services: Services, kept: KeptMatch, moment: Moment) -> None:
    """Refuse "before the match" once the match is under way, and "after the match" until it has ended.

    An event's rules on coaching and devices do not apply at those two moments, so nobody may claim them in between.
    """
    state = state_after(kept.steps)
    over = kept.match.status == "ended" or (state is not None and state.winner is not None)
    kinds = (services.rulebook.kinds.get(entry.kind) for entry in kept.observations)
    begun = bool(kept.steps) or any(kind is not None and Phase.BEFORE not in kind.phases for kind in kinds)
    if over and moment is not Moment.AFTER_MATCH:
        raise conflict("match-over", "after-match: this match is over", "moment", value=moment.value)
    if moment is Moment.AFTER_MATCH and not over:
        raise conflict("match-not-over", "a moment during the match: it is not over yet", "moment", value=moment.value)
    if moment is Moment.BEFORE_MATCH and begun:
        raise conflict("match-begun", "a moment during the match: it has begun", "moment", value=moment.value)


def narrowest_moment(services: Services, kept: KeptMatch) -> Moment:
    """Return before or after the match or, in between, the moment at which events permit least."""
    for moment in (Moment.BEFORE_MATCH, Moment.AFTER_MATCH):
        with suppress(Refused):
            check_moment(services, kept, moment)
            return moment
    return Moment.BETWEEN_POINTS


def withheld_now(services: Services, kept: KeptMatch) -> Advice | None:
    """Return only safety and notice if nothing else about this match may be read now; None if everything may."""
    if kept.match.status == "ended":
        return None
    return withheld_at(services, situation(kept, narrowest_moment(services, kept), services.rulebook))


def withheld_at(services: Services, asked: Situation) -> Advice | None:
    """Return only safety and notice if a running match may show nothing else in this situation."""
    try:
        return services.adviser.standing(asked)
    except TooManyMatches:
        return Advice(asked.moment, services.rulebook.version, services.rulebook.digest, notice=(UNCHECKED,))


def alone_in_words(instead: Advice) -> str:
    """Return safety and notice as one string, safety first."""
    return " ".join([*(line.say for line in instead.safety), *instead.notice])


def permitted(services: Services, club_id: str, match_id: str, moment: Moment | None) -> tuple[KeptMatch, Situation]:
    """Return a stored match and its situation at a moment; by default, during play, at the narrowest moment.

    Raises NotFound; Refused if the match is not at this moment; NotPermitted if it permits only safety advice.
    """
    kept, known = at_moment(services, club_id, match_id, moment)
    if kept.match.status == "open" and (instead := withheld_at(services, known)):
        raise NotPermitted(alone_in_words(instead))
    return kept, known


def at_moment(services: Services, club_id: str, match_id: str, moment: Moment | None) -> tuple[KeptMatch, Situation]:
    """Return the same as `permitted`, without the check that it may be shown. Raises NotFound; Refused."""
    with services.reading(club_id) as work:
        kept = read_kept(work, match_id)
    if moment is not None:
        check_moment(services, kept, moment)
    return kept, situation(kept, moment or narrowest_moment(services, kept), services.rulebook)
