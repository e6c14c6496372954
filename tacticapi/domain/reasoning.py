"""What passes between the steps from a situation to its advice: beliefs, facts, the tactics that fire, their worth."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import log

from tacticapi.domain.rules import Condition, FactKind, Tactic, TraitKey
from tacticapi.domain.situation import Phase, Wing


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one kind of observation did to a belief.

    `log_odds` is what leaving it out would take away; `observations` are the places in the posted list;
    `chances` is how many chances were seen; `text` says it in counts. `what` may be a profile key such as
    opponent.backhand_type, then `observations` is empty.
    """

    what: str
    phase: Phase
    log_odds: float
    chances: float
    observations: tuple[int, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Belief:
    """The probability (0 to 1) that a trait holds, with its prior and its contributions, strongest first."""

    trait: str
    wing: Wing | None
    prior: float
    probability: float
    contributions: tuple[Contribution, ...] = ()

    @property
    def chances(self) -> float:
        """Chances seen in all, over its contributions."""
        return sum(c.chances for c in self.contributions)


DEPARTURE_DIGITS = 6  # so that the last bits of a sum decide no order


def logit(share: float) -> float:
    """Return the log-odds of a share between 0 and 1."""
    return log(share / (1.0 - share))


@dataclass(frozen=True, slots=True)
class Estimate:
    """What is known of one quality, as a share of the kind of count that shows it best.

    `usual` is the share of the usual player of the level; `low` and `high` bound the middle 80 in 100 of what the
    share may be; `hits` out of `chances` were counted of this kind (both 0 if only other kinds spoke).
    """

    quality: str
    player: str
    wing: Wing | None
    what: str
    says: str
    usual: float
    estimate: float
    low: float
    high: float
    hits: float
    chances: float

    @property
    def departure(self) -> float:
        """How surely the player differs from the usual one: the distance in log-odds over the width of what may be."""
        width = logit(self.high) - logit(self.low)
        return round(abs(logit(self.estimate) - logit(self.usual)) / width, DEPARTURE_DIGITS)


def belief_name(trait: str, wing: str | None) -> str:
    """The name of a belief in requests and in what is kept: the trait, and its wing after a stroke."""
    return f"{trait}/{wing}" if wing else trait


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

    @property
    def trait_key(self) -> TraitKey:
        """Return the trait and wing that a belief fact is about."""
        wing = self.fields.get("wing")
        return self.name, Wing(str(wing)) if wing else None


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
    """A tactic one of whose alternatives matched, with the facts that it matched.

    `beliefs` are the belief facts among them; `wing`, at which the tactic aims, is that of the first that carries one.
    """

    tactic: Tactic
    alternative: int
    facts: tuple[Fact, ...]
    beliefs: tuple[Fact, ...] = field(init=False)
    wing: Wing | None = field(init=False)

    def __post_init__(self) -> None:
        """Sort the facts, once: pricing and wording ask again and again."""
        wings = [fact.fields["wing"] for fact in self.facts if "wing" in fact.fields]
        object.__setattr__(self, "beliefs", tuple(fact for fact in self.facts if fact.kind is FactKind.BELIEF))
        object.__setattr__(self, "wing", Wing(str(wings[0])) if wings else None)


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


@dataclass(frozen=True, slots=True)
class Predictive:
    """All that a look at one kind can show about one trait, given what has been seen of that kind so far.

    `holds` and `fails` are the chances of each possible outcome if the trait holds and if it does not; each sums
    to 1. `wing` belongs to the trait, `on_wing` is the wing on which to look (None: either).
    """

    what: str
    trait: str
    wing: Wing | None
    on_wing: Wing | None
    holds: tuple[float, ...]
    fails: tuple[float, ...]

    @property
    def key(self) -> TraitKey:
        """The belief that the look can move."""
        return self.trait, self.wing

    def tells(self, needed: float = 1.0) -> float:
        """The share of what certainty would gain that the look does where the plan hangs on one thing, 0 to 1.

        `needed` is the likelihood ratio of holding to failing from which on the plan is another one (above nought). The
        share is largest at 1, where it is the total variation distance, and falls to either side; at 1 it also bounds
        what a look gains where the plan hangs on more: its worth is convex in a belief p, so after a look it is at most
        that of the chords from p to 0 and 1, and along these it rises by this share.
        """
        both = zip(self.holds, self.fails, strict=True)
        if needed < 1.0:
            return sum([max(0.0, fails - holds / needed) for holds, fails in both])
        return sum([max(0.0, holds - needed * fails) for holds, fails in both])


@dataclass(frozen=True, slots=True)
class Play:
    """An alternative of a tactic that needs nothing more than that these traits hold."""

    tactic: Tactic
    alternative: int
    rests_on: tuple[TraitKey, ...]
