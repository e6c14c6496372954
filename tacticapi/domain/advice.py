"""What goes out: ranked and explained suggestions, and everything honest beside them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any

from tacticapi.domain import Chance, Figure, Gain, Index, Indexes, Thousandth, many
from tacticapi.domain.court import Hands
from tacticapi.domain.reasoning import Belief, Estimate, OfWing
from tacticapi.domain.situation import Game, HeldBack, Moment, Verdict, Wing


@many
class Reason:
    """One reason in counts, with what was posted and in which way."""

    text: Annotated[str, "The reason in words."]
    what: Annotated[str, "Id of the vocabulary, or the name of the fact."]
    observation: Annotated[Index | None, "Its place in the posted list; absent for a mere fact."] = None
    ref: Annotated[str | None, "The client's own id of the observation."] = None
    points: Annotated[Gain | None, "What it adds to a tried point; absent without a price."] = None
    said: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RestsOn:
    """A trait that a suggestion rests on."""

    trait: Annotated[str, "Id of the trait."]
    wing: OfWing
    probability: Annotated[Chance, "How likely it is true."]
    read: Annotated[str, "How much was seen: glimpse, hint, working read or firm read."]


@dataclass(frozen=True, slots=True)
class Worth:
    """What it is worth. The figures rest on model defaults of this service."""

    size: Annotated[str, ("large", "some", "small", "unclear"), "The gain in a word; unclear if it may cost."]
    pays_in: Annotated[Chance, "The part of all such players against whom it gains."]
    point: Annotated[Gain, "Expected gain per point, over all points; the claims of all lines together are capped."]
    match: Annotated[Gain, "Expected gain in the chance to win the match."]
    match_low: Annotated[Gain, "10th percentile of that gain."]
    match_high: Annotated[Gain, "90th percentile of that gain."]


@dataclass(frozen=True, slots=True)
class Target:
    """A serve target, computed from the receiver's hand and the court."""

    court: Annotated[str, ("deuce", "ad"), "The court served into."]
    spot: Annotated[str, ("wide", "body", "T"), "Where in it."]
    wing: Annotated[Wing, "The wing that it reaches."]


@dataclass(frozen=True, slots=True)
class SourceLine:
    """Who says so. A citation backs a fact, never one of our thresholds."""

    status: Annotated[str, "How the content is known, or the words common practice."]
    key: Annotated[str | None, "Key of the source list."] = None
    citation: Annotated[str | None, "The publication."] = None
    backs: Annotated[str | None, "The fact that it backs."] = None


@many
class Suggestion:
    """One line of advice with everything that belongs to it."""

    rank: Annotated[int, Figure(1), "1 first."]
    tactic: Annotated[str, "Id of the tactic."]
    category: Annotated[str, "Its category."]
    title: Annotated[str, "Its title."]
    say: Annotated[str, "What to say on court."]
    why: Annotated[str, "Why it works."]
    because: Annotated[tuple[Reason, ...], "Why now, in counts, strongest first."]
    rests_on: tuple[RestsOn, ...]
    not_if: Annotated[str, "When not to do it."]
    stop_when: Annotated[str, "When to look again."]
    risk: Annotated[str, ("low", "medium", "high"), "What can go wrong with it."]
    caution: Annotated[str | None, "A caution to show with it."]
    targets: Annotated[tuple[Target, ...], "Serve targets, if it has some and the receiver's hand is known."]
    source: SourceLine
    sources: Annotated[tuple[SourceLine, ...], "Who says so."]
    worth: Annotated[Worth | None, "What it is worth; absent if it sends no ball."] = None
    coaches_differ: Annotated[str | None, "Both views, if coaches disagree."] = None
    drawn_for: Hands | None = None
    safety: Annotated[bool | None, "True if it is about safety: never leave it out. Absent otherwise."] = None


@dataclass(frozen=True, slots=True)
class Safety:
    """A safety line; it comes before tactics, or replaces them if `alone`."""

    tactic: Annotated[str, "Id of the rule."]
    say: Annotated[str, "What to say."]
    why: Annotated[str, "Why."]
    caution: Annotated[str | None, "A caution to show with it."]
    alone: Annotated[bool, "Whether it silences tactics."]
    sources: Annotated[tuple[SourceLine, ...], "Every source."]


@many
class Look:
    """What to look for next."""

    what: Annotated[str, "Id of the vocabulary."]
    asks: Annotated[str, "The question to the observer."]
    how: Annotated[str, "How to provoke it."]
    worth: Annotated[Gain, "What it is worth in the chance of the match; 0 for one that starts or confirms."]
    decides: Annotated[tuple[str, ...], "The tactics between which it decides, two at most; none for a starter."] = ()
    wing: Annotated[Wing | None, "The wing on which to look; absent if it does not matter."] = None


@many
class HeldBackTactic:
    """A tactic that matched and was held back."""

    tactic: Annotated[str, "Id of the tactic."]
    reason: Annotated[HeldBack, "The sort of reason."]
    why: Annotated[str, "The reason in words."]


@many
class UnusedObservation:
    """An accepted observation that moved nothing, or a free text that somebody must read."""

    observation: Annotated[Index | None, "Its place in the posted list; absent for a fact."]
    what: Annotated[str, "Id of the vocabulary."]
    why: Annotated[str, "Why it moved nothing."]
    ref: Annotated[str | None, "The client's own id of it."] = None
    text: Annotated[str | None, "The free text that no rule understands, else absent."] = None


@dataclass(frozen=True, slots=True)
class AdviceChange:
    """A change since the advice before."""

    what: Annotated[str, ("first", "belief", "play"), "The first suggestion, a belief, or the opponent's play."]
    text: Annotated[str, "The change in words."]
    trait: Annotated[str | None, "The trait whose belief changed."] = None
    wing: OfWing = None
    before: Annotated[Thousandth | None, "Probability or share then."] = None
    after: Annotated[Thousandth | None, "Probability or share now."] = None
    observations: Annotated[Indexes, "The observations that made it so."] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """What is being played, what it won, and whether to keep it. Tries count since our switch and their last change."""

    verdict: Annotated[Verdict, "Whether to keep, adjust or change it."]
    why: Annotated[str, "The reason in counts, at most 25 words."]
    tactic: Annotated[str | None, "The tactic that is being played; absent: none was chosen or tried."] = None
    since: Annotated[Game | None, "The game since which it is played; absent if unknown."] = None
    tried: Annotated[int, "Points on which the tactic was carried out since then."] = 0
    won: Annotated[int, "Points won of them."] = 0
    next: Annotated[str | None, "The tactic to turn to if it is to be adjusted or changed."] = None


@dataclass(frozen=True, slots=True)
class Advice:
    """The whole answer for one situation; `beliefs` holds every trait, `profile` what was seen, if asked for."""

    moment: Moment
    version: str
    digest: str
    safety: tuple[Safety, ...] = ()
    plan: Plan | None = None
    score: str | None = None
    suggestions: tuple[Suggestion, ...] = ()
    changed: tuple[AdviceChange, ...] = ()
    look_for: tuple[Look, ...] = ()
    held_back: tuple[HeldBackTactic, ...] = ()
    unused: tuple[UnusedObservation, ...] = ()
    beliefs: tuple[Belief, ...] = ()
    profile: tuple[Estimate, ...] = ()
    notice: tuple[str, ...] = ()

    @property
    def moved(self) -> tuple[Belief, ...]:
        """Return the beliefs that something moved."""
        return tuple(belief for belief in self.beliefs if belief.contributions)
