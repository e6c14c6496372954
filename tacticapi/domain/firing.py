"""What the matcher works on and what comes out of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tacticapi.domain.tactic import Condition, FactKind, Tactic
from tacticapi.domain.terms import Wing

EITHER_WAY = 0.5


@dataclass(frozen=True, slots=True)
class Fact:
    """One small flat fact of our own making. Fields hold whole numbers and words from closed lists only.

    `observations` are the places in the posted list that it rests on; they never enter the matcher.
    """

    id: str
    kind: FactKind
    name: str
    fields: Mapping[str, int | str] = field(default_factory=dict)
    observations: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class MatchRule:
    """One rule of the matcher: a conjunction; `derives` names the circumstance that it proves, if any."""

    id: str
    conditions: tuple[Condition, ...]
    derives: str | None = None


@dataclass(frozen=True, slots=True, order=True)
class RuleMatch:
    """A rule that fired and the ids of the facts that it matched, in the order of its conditions."""

    rule: str
    facts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Inference:
    """All matches of one situation, the facts by id (derived ones included), and which engine answered.

    `failure` is the kind of failure for which the evaluator answered in the rule engine's place; None where none did.
    """

    matches: tuple[RuleMatch, ...]
    facts: Mapping[str, Fact]
    engine: str
    failure: str | None = None


@dataclass(frozen=True, slots=True)
class Firing:
    """A tactic one of whose alternatives matched, with the facts that it matched."""

    tactic: Tactic
    alternative: int
    facts: tuple[Fact, ...]

    @property
    def beliefs(self) -> tuple[Fact, ...]:
        """The belief facts among its facts."""
        return tuple(fact for fact in self.facts if fact.kind is FactKind.BELIEF)

    @property
    def wing(self) -> Wing | None:
        """The wing that the tactic aims at: that of the first fact that carries one."""
        wings = (fact.fields["wing"] for fact in self.facts if "wing" in fact.fields)
        return next((Wing(str(wing)) for wing in wings), None)


@dataclass(frozen=True, slots=True)
class Firings:
    """All firings by tactic, and the counter-indications (by their place in the tactic) that hold."""

    by_tactic: Mapping[str, tuple[Firing, ...]]
    counters: Mapping[str, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Priced:
    """A firing with its worth.

    `chance` is the probability that its traits hold; `expected` the gain a touched point before any tries.
    `serve` and `return_` are the expected gains a serve point and a return point, `point` the gain a point over
    all points, half serve and half return. `up` and `down` are what may come of it a touched point: the gains if the
    traits hold and if not, or, where the gain is `simulated`, the ends of what the simulation leaves open.
    """

    firing: Firing
    chance: float
    expected: float
    point: float
    serve: float
    return_: float
    up: float
    down: float
    family: str
    simulated: bool = False

    @property
    def odds(self) -> float:
        """The chance of `up`; else it is `down`."""
        return EITHER_WAY if self.simulated else self.chance
