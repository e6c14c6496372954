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
    observation: Annotated[Index | None, "The observation's index in the list; absent for a profile fact."] = None
    ref: Annotated[str | None, "The client's own id for the observation."] = None
    points: Annotated[Gain | None, "The gain that this reason adds per tried point; absent without a price."] = None
    said: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RestsOn:
    """A trait that a suggestion is based on."""

    trait: Annotated[str, "Id of the trait."]
    wing: OfWing
    probability: Annotated[Chance, "The probability that the trait is true."]
    read: Annotated[str, "The amount of evidence: glimpse, hint, working read or firm read."]


@dataclass(frozen=True, slots=True)
class Worth:
    """How much a suggestion is worth. The figures are based on this service's model defaults."""

    size: Annotated[str, ("large", "some", "small", "unclear"), "The gain as a word; unclear if it may be a loss."]
    pays_in: Annotated[Chance, "The share of such players against whom the tactic gains points."]
    point: Annotated[Gain, "Expected gain per point, averaged over all points; the sum over all lines is capped."]
    match: Annotated[Gain, "Expected gain in the chance of winning the match."]
    match_low: Annotated[Gain, "10th percentile of the gain in match chance."]
    match_high: Annotated[Gain, "90th percentile of the gain in match chance."]


@dataclass(frozen=True, slots=True)
class Target:
    """A serve target, computed from the receiver's hand and the court."""

    court: Annotated[str, ("deuce", "ad"), "The service court to hit."]
    spot: Annotated[str, ("wide", "body", "T"), "The spot to hit in the service court."]
    wing: Annotated[Wing, "The receiver's wing that the serve reaches."]


@dataclass(frozen=True, slots=True)
class SourceLine:
    """A line's source. A citation backs a fact, never one of our thresholds."""

    status: Annotated[str, 'How the content is known, or "common practice".']
    key: Annotated[str | None, "Key in the source list."] = None
    citation: Annotated[str | None, "The publication."] = None
    backs: Annotated[str | None, "The fact that the citation backs."] = None


@many
class Suggestion:
    """One suggestion with its reasons, limits, worth and sources."""

    rank: Annotated[int, Figure(1), "The rank, 1 first."]
    tactic: Annotated[str, "Id of the tactic."]
    category: Annotated[str, "Id of the tactic's category."]
    title: Annotated[str, "The tactic's title."]
    say: Annotated[str, "What to say on court."]
    why: Annotated[str, "Why the tactic works."]
    because: Annotated[tuple[Reason, ...], "The reasons to play it now, in counts, strongest first."]
    rests_on: tuple[RestsOn, ...]
    not_if: Annotated[str, "When not to use the tactic."]
    stop_when: Annotated[str, "When to reconsider the tactic."]
    risk: Annotated[str, ("low", "medium", "high"), "How risky the tactic is."]
    caution: Annotated[str | None, "A caution to show with the suggestion."]
    targets: Annotated[tuple[Target, ...], "Serve targets, if the tactic has any and the receiver's hand is known."]
    source: SourceLine
    sources: Annotated[tuple[SourceLine, ...], "The suggestion's sources."]
    worth: Annotated[Worth | None, "What the suggestion is worth; absent if it sends no ball."] = None
    coaches_differ: Annotated[str | None, "Both views, if coaches disagree."] = None
    drawn_for: Hands | None = None
    safety: Annotated[bool | None, "True for a suggestion about safety: never leave it out. Absent otherwise."] = None


@dataclass(frozen=True, slots=True)
class Safety:
    """A safety line; it comes before tactics, or replaces them if `alone`."""

    tactic: Annotated[str, "Id of the rule."]
    say: Annotated[str, "What to say."]
    why: Annotated[str, "Why it matters."]
    caution: Annotated[str | None, "A caution to show with the line."]
    alone: Annotated[bool, "True if the line replaces all tactics."]
    sources: Annotated[tuple[SourceLine, ...], "The line's sources."]


@many
class Look:
    """An observation to make next."""

    what: Annotated[str, "Vocabulary id."]
    asks: Annotated[str, "The question for the observer."]
    how: Annotated[str, "How to make the opponent show it."]
    worth: Annotated[Gain, "Expected gain in the chance of winning the match; 0 for a starter look or a confirmation."]
    decides: Annotated[tuple[str, ...], "At most two tactics that the look decides between; empty for a starter."] = ()
    wing: Annotated[Wing | None, "The wing to watch; absent if the wing does not matter."] = None


@many
class HeldBackTactic:
    """A tactic that matched but was held back."""

    tactic: Annotated[str, "Id of the tactic."]
    reason: Annotated[HeldBack, "The kind of reason."]
    why: Annotated[str, "The reason in words."]


@many
class UnusedObservation:
    """An accepted observation that changed nothing, or free text that somebody must read."""

    observation: Annotated[Index | None, "The observation's index in the list; absent for a profile fact."]
    what: Annotated[str, "Vocabulary id."]
    why: Annotated[str, "Why the observation changed nothing."]
    ref: Annotated[str | None, "The client's own id for the observation."] = None
    text: Annotated[str | None, "Free text that no rule understands; otherwise absent."] = None


@dataclass(frozen=True, slots=True)
class AdviceChange:
    """A change since the previous advice."""

    what: Annotated[str, ("first", "belief", "play"), "What changed: first suggestion, belief or the opponent's play."]
    text: Annotated[str, "The change in words."]
    trait: Annotated[str | None, "The trait whose belief changed."] = None
    wing: OfWing = None
    before: Annotated[Thousandth | None, "The probability or share before."] = None
    after: Annotated[Thousandth | None, "The probability or share now."] = None
    observations: Annotated[Indexes, "The observations that caused the change."] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """The tactic being played: its verdict, and its tries since our switch and the opponent's last change of play."""

    verdict: Annotated[Verdict, "The verdict: keep, adjust or change the plan."]
    why: Annotated[str, "The reason in counts, at most 25 words."]
    tactic: Annotated[str | None, "The tactic being played; absent if none was chosen or tried."] = None
    since: Annotated[Game | None, "The game since which the tactic has been played; absent if unknown."] = None
    tried: Annotated[int, "Points on which the tactic was carried out since the switch and the change of play."] = 0
    won: Annotated[int, "Points won out of those in `tried`."] = 0
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
