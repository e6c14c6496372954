"""Define the output: ranked and explained suggestions, safety lines, and what was held back or left unused."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any

from tacticapi.domain import Chance, Figure, Gain, Index, Indexes, Thousandth, many
from tacticapi.domain.court import Hands
from tacticapi.domain.reasoning import Belief, Estimate, OfWing
from tacticapi.domain.situation import Game, HeldBack, Moment, Verdict, Wing


@many
class Reason:
    """One reason in counts, with the observation as it was posted."""

    text: Annotated[str, "The reason in words."]
    what: Annotated[str, "Vocabulary id, or the name of the fact."]
    observation: Annotated[Index | None, "Its index in the posted list; absent for a profile fact."] = None
    ref: Annotated[str | None, "The client's own id for the observation."] = None
    points: Annotated[Gain | None, "The gain that it adds per tried point; absent without a price."] = None
    said: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RestsOn:
    """A trait that a suggestion is based on."""

    trait: Annotated[str, "Id of the trait."]
    wing: OfWing
    probability: Annotated[Chance, "The probability that it is true."]
    read: Annotated[str, "The amount of evidence: glimpse, hint, working read or firm read."]


@dataclass(frozen=True, slots=True)
class Worth:
    """How much a suggestion is worth. The figures are based on this service's model defaults."""

    size: Annotated[str, ("large", "some", "small", "unclear"), "The gain as a word; unclear if it may be a loss."]
    pays_in: Annotated[Chance, "The share of all such players against whom it gains."]
    point: Annotated[Gain, "Expected gain per point, averaged over all points; the sum over all lines is capped."]
    match: Annotated[Gain, "Expected gain in the chance of winning the match."]
    match_low: Annotated[Gain, "10th percentile of that gain."]
    match_high: Annotated[Gain, "90th percentile of that gain."]


@dataclass(frozen=True, slots=True)
class Target:
    """A serve target, computed from the receiver's hand and the court."""

    court: Annotated[str, ("deuce", "ad"), "The court served into."]
    spot: Annotated[str, ("wide", "body", "T"), "The spot in that court."]
    wing: Annotated[Wing, "The receiver's wing that it reaches."]


@dataclass(frozen=True, slots=True)
class SourceLine:
    """The source of a line. A citation backs a fact, never one of our thresholds."""

    status: Annotated[str, 'How the content is known, or "common practice".']
    key: Annotated[str | None, "Key in the source list."] = None
    citation: Annotated[str | None, "The publication."] = None
    backs: Annotated[str | None, "The fact that it backs."] = None


@many
class Suggestion:
    """One suggestion with its reasons, limits, worth and sources."""

    rank: Annotated[int, Figure(1), "The rank, 1 first."]
    tactic: Annotated[str, "Id of the tactic."]
    category: Annotated[str, "Its category."]
    title: Annotated[str, "Its title."]
    say: Annotated[str, "What to say on court."]
    why: Annotated[str, "Why it works."]
    because: Annotated[tuple[Reason, ...], "Why now, in counts, strongest first."]
    rests_on: tuple[RestsOn, ...]
    not_if: Annotated[str, "When not to do it."]
    stop_when: Annotated[str, "When to reconsider it."]
    risk: Annotated[str, ("low", "medium", "high"), "How much can go wrong with it."]
    caution: Annotated[str | None, "A caution to show with it."]
    targets: Annotated[tuple[Target, ...], "Serve targets, if it has any and the receiver's hand is known."]
    source: SourceLine
    sources: Annotated[tuple[SourceLine, ...], "Its sources."]
    worth: Annotated[Worth | None, "Its worth; absent if it sends no ball."] = None
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
    alone: Annotated[bool, "True if it replaces all tactics."]
    sources: Annotated[tuple[SourceLine, ...], "Its sources."]


@many
class Look:
    """An observation to make next."""

    what: Annotated[str, "Vocabulary id."]
    asks: Annotated[str, "The question for the observer."]
    how: Annotated[str, "How to provoke it."]
    worth: Annotated[Gain, "The expected gain in the chance of winning the match; 0 for a starter or a confirmation."]
    decides: Annotated[tuple[str, ...], "The tactics between which it decides, at most two; empty for a starter."] = ()
    wing: Annotated[Wing | None, "The wing to watch; absent if it does not matter."] = None


@many
class HeldBackTactic:
    """A tactic that matched but was held back."""

    tactic: Annotated[str, "Id of the tactic."]
    reason: Annotated[HeldBack, "The kind of reason."]
    why: Annotated[str, "The reason in words."]


@many
class UnusedObservation:
    """An accepted observation that changed nothing, or free text that somebody must read."""

    observation: Annotated[Index | None, "Its index in the posted list; absent for a profile fact."]
    what: Annotated[str, "Vocabulary id."]
    why: Annotated[str, "Why it changed nothing."]
    ref: Annotated[str | None, "The client's own id for it."] = None
    text: Annotated[str | None, "Free text that no rule understands; otherwise absent."] = None


@dataclass(frozen=True, slots=True)
class AdviceChange:
    """A change since the previous advice."""

    what: Annotated[str, ("first", "belief", "play"), "The first suggestion, a belief, or the opponent's play."]
    text: Annotated[str, "The change in words."]
    trait: Annotated[str | None, "The trait whose belief changed."] = None
    wing: OfWing = None
    before: Annotated[Thousandth | None, "The probability or share before."] = None
    after: Annotated[Thousandth | None, "The probability or share now."] = None
    observations: Annotated[Indexes, "The observations that caused it."] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """The tactic being played, its results and verdict. Only tries since our switch and their last change count."""

    verdict: Annotated[Verdict, "The verdict: keep, adjust or change it."]
    why: Annotated[str, "The reason in counts, at most 25 words."]
    tactic: Annotated[str | None, "The tactic being played; absent if none was chosen or tried."] = None
    since: Annotated[Game | None, "The game from which it has been played; absent if unknown."] = None
    tried: Annotated[int, "Points on which the tactic was carried out since then."] = 0
    won: Annotated[int, "Points won among these."] = 0
    next: Annotated[str | None, "The tactic to switch to if the verdict is adjust or change."] = None


@dataclass(frozen=True, slots=True)
class Advice:
    """The whole response for one situation; if requested, `beliefs` lists every trait and `profile` what was seen."""

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
