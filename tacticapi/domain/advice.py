"""What goes out: ranked and explained suggestions, and everything honest beside them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tacticapi.domain.court import Hands
from tacticapi.domain.reasoning import Belief, Estimate
from tacticapi.domain.situation import HeldBack, Moment, Plan, Wing


@dataclass(frozen=True, slots=True)
class CourtNote:
    """The figure's name, a sentence, and whether it was worked out from what was posted or is the general rule."""

    figure: str
    text: str
    posted: bool


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason in counts. `observation` is the place in the posted list, None for a profile fact."""

    text: str
    what: str
    observation: int | None = None
    ref: str | None = None
    trait: str | None = None
    wing: Wing | None = None
    log_odds: float | None = None
    said: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RestsOn:
    """A trait that a suggestion rests on, with how firmly it has been seen."""

    trait: str
    wing: Wing | None
    probability: float
    read: str


@dataclass(frozen=True, slots=True)
class Gain:
    """Expected gain a point over all points, and in match chance with its 80 % interval (None: not priced)."""

    point: float
    match: float | None = None
    match_low: float | None = None
    match_high: float | None = None


@dataclass(frozen=True, slots=True)
class Target:
    """A serve target: court side and spot, and the wing it reaches."""

    court: str
    spot: str
    wing: Wing


@dataclass(frozen=True, slots=True)
class SourceLine:
    """Who says so: status and, where there is one, the publication and the fact that it backs."""

    status: str
    key: str | None = None
    citation: str | None = None
    backs: str | None = None


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One line of advice with everything that belongs to it.

    `drawn_for` says for which hands and wing its place on the court is drawn; None where it has no place.
    `court` is the figure about court and ball that belongs to it; None where none does.
    """

    rank: int
    tactic: str
    category: str
    title: str
    say: str
    why: str
    because: tuple[Reason, ...]
    rests_on: tuple[RestsOn, ...]
    gain: Gain
    not_if: str
    stop_when: str
    risk: str
    caution: str | None
    targets: tuple[Target, ...]
    source: SourceLine
    sources: tuple[SourceLine, ...]
    coaches_differ: str | None = None
    drawn_for: Hands | None = None
    court: CourtNote | None = None


@dataclass(frozen=True, slots=True)
class Safety:
    """A safety line. It stands before and, where `alone`, instead of tactics."""

    tactic: str
    say: str
    why: str
    caution: str | None
    alone: bool
    sources: tuple[SourceLine, ...]


@dataclass(frozen=True, slots=True)
class Look:
    """What to look for next, how to get to see it, and what seeing it is worth in match chance.

    `trait` is what it would tell most about and `wing` the wing on which to look, None for a look of the starter set.
    """

    what: str
    asks: str
    how: str
    worth: float
    trait: str | None = None
    wing: Wing | None = None


@dataclass(frozen=True, slots=True)
class HeldBackTactic:
    """A tactic that matched but was set aside, with the reason."""

    tactic: str
    reason: HeldBack
    why: str


@dataclass(frozen=True, slots=True)
class UnusedObservation:
    """An accepted observation that moved nothing, and why; or a free text (`text`) that somebody must read.

    `observation` is the place in the posted list, None for a fact.
    """

    observation: int | None
    what: str
    why: str
    ref: str | None = None
    text: str | None = None


@dataclass(frozen=True, slots=True)
class AdviceChange:
    """What is not as it was at the last advice, and the observations (places in the posted list) that made it so.

    `what` is first (the first suggestion), belief, or play (a share of the opponent's play moved between games).
    `before` and `after` are probabilities of a belief, or shares of the play.
    """

    what: str
    text: str
    trait: str | None = None
    wing: Wing | None = None
    before: float | None = None
    after: float | None = None
    observations: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Advice:
    """The whole answer for one situation.

    `beliefs` holds every trait: whoever answers may leave out those that nothing moved. `profile` holds the qualities
    that something was seen of, the surest departures from the usual player first.
    """

    moment: Moment
    version: str
    digest: str
    safety: tuple[Safety, ...] = ()
    plan: Plan | None = None
    plan_why: str | None = None
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
