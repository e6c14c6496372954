"""What goes out: ranked and explained suggestions, and everything honest beside them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tacticapi.domain.court import Hands
from tacticapi.domain.reasoning import Belief, Estimate
from tacticapi.domain.situation import Game, HeldBack, Moment, Verdict, Wing


@dataclass(frozen=True, slots=True)
class CourtNote:
    """The figure's name, a sentence, and whether it was worked out from what was posted or is the general rule."""

    figure: str
    text: str
    posted: bool


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason in counts; `observation` is the place in the posted list, `points` its part of the gain."""

    text: str
    what: str
    observation: int | None = None
    ref: str | None = None
    points: float | None = None
    said: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RestsOn:
    """A trait that a suggestion rests on, with how firmly it has been seen."""

    trait: str
    wing: Wing | None
    probability: float
    read: str


@dataclass(frozen=True, slots=True)
class Worth:
    """Worth of a tactic: its size in a word, the chance that it pays, its gain a point and in match chance (80 %)."""

    size: str
    pays_in: float
    point: float
    match: float
    match_low: float
    match_high: float


@dataclass(frozen=True, slots=True)
class Target:
    """A serve target: court side and spot, and the wing it reaches."""

    court: str
    spot: str
    wing: Wing


@dataclass(frozen=True, slots=True)
class SourceLine:
    """A source: its status and, if there is one, the publication and the fact that it backs."""

    status: str
    key: str | None = None
    citation: str | None = None
    backs: str | None = None


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One line of advice; no `worth` if it sends no ball, no `drawn_for` and `court` if it has no picture or figure."""

    rank: int
    tactic: str
    category: str
    title: str
    say: str
    why: str
    because: tuple[Reason, ...]
    rests_on: tuple[RestsOn, ...]
    not_if: str
    stop_when: str
    risk: str
    caution: str | None
    targets: tuple[Target, ...]
    source: SourceLine
    sources: tuple[SourceLine, ...]
    worth: Worth | None = None
    coaches_differ: str | None = None
    drawn_for: Hands | None = None
    court: CourtNote | None = None
    safety: bool = False


@dataclass(frozen=True, slots=True)
class Safety:
    """A safety line. It comes before tactics, or replaces them if `alone`."""

    tactic: str
    say: str
    why: str
    caution: str | None
    alone: bool
    sources: tuple[SourceLine, ...]


@dataclass(frozen=True, slots=True)
class Look:
    """What to look for next, how to see it, its worth in match chance, and the tactics between which it decides."""

    what: str
    asks: str
    how: str
    worth: float
    decides: tuple[str, ...] = ()
    wing: Wing | None = None


@dataclass(frozen=True, slots=True)
class HeldBackTactic:
    """A tactic that matched but was set aside, with the reason."""

    tactic: str
    reason: HeldBack
    why: str


@dataclass(frozen=True, slots=True)
class UnusedObservation:
    """An accepted observation (its place, None for a fact) that moved nothing, or a free text to be read."""

    observation: int | None
    what: str
    why: str
    ref: str | None = None
    text: str | None = None


@dataclass(frozen=True, slots=True)
class AdviceChange:
    """What is not as it was at the last advice: first (the first suggestion), belief, or play (a share of it)."""

    what: str
    text: str
    trait: str | None = None
    wing: Wing | None = None
    before: float | None = None
    after: float | None = None
    observations: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """What is being played since when, what it won since our switch and their change, the verdict, what is next."""

    verdict: Verdict
    why: str
    tactic: str | None = None
    since: Game | None = None
    tried: int = 0
    won: int = 0
    next: str | None = None


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
