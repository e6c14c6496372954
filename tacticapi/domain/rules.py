"""The rulebook as the service holds it: observation kinds, traits, tactics and sources, read once, never changed."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from tacticapi.domain.court import Place
from tacticapi.domain.situation import Moment, Phase, Show, Way, Wing


class Level(StrEnum):
    """The level of a player: whom usual shares and spreads are taken from."""

    TOUR = "tour"
    ADVANCED = "advanced"
    CLUB = "club"
    JUNIOR = "junior"


USUAL_LEVEL = Level.CLUB
Loads = Mapping[str, float]
"""How much each quality counts in a sum, by id; `id/forehand`, `id/backhand`, `id/other` of one with wings."""


@dataclass(frozen=True, slots=True)
class Quality:
    """One latent quality of a player, in log-odds against the usual player of the level: a skill, or a habit.

    `spread` is its standard deviation between players; `carry_over` the share of variance that comes again.
    """

    id: str
    title: str
    has_wings: bool
    spread: Mapping[Level, float]
    carry_over: float
    habit: bool = False

    @property
    def wings(self) -> tuple[Wing | None, ...]:
        """Return one entry for each latent value."""
        return tuple(Wing) if self.has_wings else (None,)


@dataclass(frozen=True, slots=True)
class Measure:
    """What one kind of observation says about a weighted sum of qualities.

    `usual` is the mean share of hits, which `options` or the `largest` option make. Words, seen and amount are steps of
    the rating scale from its middle; `ends` are misses that also tell one end from the other.
    """

    loads: Loads
    usual: Mapping[Level, float] = field(default_factory=dict)
    options: tuple[str, ...] = ()
    words: Mapping[str, float] = field(default_factory=dict)
    amount: tuple[Mapping[Level, float], float] | None = None
    seen: tuple[float, float] | None = None
    serve: str | None = None
    court: str | None = None
    way: Way | None = None
    ends: bool = False
    largest: bool = False


@dataclass(frozen=True, slots=True)
class Region:
    """Where a loaded sum lies between two quantiles of the players of a level, or (`outer`) outside them."""

    of: Loads
    low: float
    high: float
    outer: bool = False


@dataclass(frozen=True, slots=True)
class ObservationKind:
    """One thing that can be seen, and the `ways` of saying it; of context, own and opponent it is a key of the request.

    `needs_end`: wind or sun spoil counts without their end. `starter`: place in the starter set, 1 first. `same_as`
    names a kind under which the same balls may be posted; `if_more` and `if_less` say what a change leaves open.
    """

    id: str
    title: str
    asks: str
    says: str
    ways: tuple[Way, ...]
    phases: tuple[Phase, ...]
    options: tuple[str, ...] = ()
    unit: str | None = None
    low: float | None = None
    high: float | None = None
    qualifiers: Mapping[str, str] = field(default_factory=dict)
    trap: str | None = None
    probe: str | None = None
    starter: int | None = None
    needs_end: bool = False
    health: bool = False
    unused_because: str | None = None
    measures: tuple[Measure, ...] = ()
    same_as: str | None = None
    if_more: str | None = None
    if_less: str | None = None

    subject: str = field(init=False)
    key: str = field(init=False)

    def __post_init__(self) -> None:
        """Split the id at its dot, once: subject and key are asked for again and again."""
        subject, _, key = self.id.partition(".")
        object.__setattr__(self, "subject", subject)
        object.__setattr__(self, "key", key)


class WingRule(StrEnum):
    """Whether a trait is one belief or one a wing."""

    NONE = "none"
    EACH = "each"
    FOREHAND = "forehand"
    BACKHAND = "backhand"


@dataclass(frozen=True, slots=True)
class Trait:
    """One statement about the opponent, true where its regions of the profile hold, or with `either` one of them.

    `favourite` instead: one spot takes at least this share of the serves to a court.
    """

    id: str
    title: str
    means: str
    wing: WingRule
    regions: tuple[Region, ...] = ()
    favourite: float | None = None
    either: bool = False
    not_from: str | None = None
    unused_because: str | None = None

    @property
    def wings(self) -> tuple[Wing | None, ...]:
        """Return one entry for each belief: each wing, a fixed wing, or None."""
        match self.wing:
            case WingRule.EACH:
                return (Wing.FOREHAND, Wing.BACKHAND)
            case WingRule.NONE:
                return (None,)
            case _:
                return (Wing(self.wing.value),)


TraitKey = tuple[str, Wing | None]
"""A trait, and the wing where it has one belief a wing."""


class FactKind(StrEnum):
    """What a condition looks at; also the kinds of facts that the matcher knows."""

    BELIEF = "belief"
    OWN = "own"
    OPPONENT = "opponent"
    CONTEXT = "context"
    OBSERVED = "observed"
    UNSEEN = "unseen"
    SCORE = "score"
    TRIES = "tries"
    CIRCUMSTANCE = "circumstance"


class Op(StrEnum):
    """The only comparisons the matcher may make."""

    IS = "is"
    AT_LEAST = "at_least"
    AT_MOST = "at_most"


@dataclass(frozen=True, slots=True)
class Test:
    """One comparison on one field of one fact. Numbers are whole; words come from a closed list."""

    __test__ = False  # not a pytest class

    field: str
    op: Op
    value: int | str


@dataclass(frozen=True, slots=True)
class Condition:
    """One fact that must be there; `same_wing` asks for the wing of the first condition that carries one."""

    kind: FactKind
    name: str
    tests: tuple[Test, ...] = ()
    same_wing: bool = False


@dataclass(frozen=True, slots=True)
class Alternative:
    """Conditions that must all hold. `say` replaces the tactic's own line, `named` both where its slots are known."""

    conditions: tuple[Condition, ...]
    say: str | None = None
    named: str | None = None


@dataclass(frozen=True, slots=True)
class Gate:
    """An own ability that the tactic needs: any of `keys` rated at least `at_least`."""

    keys: tuple[str, ...]
    at_least: int


@dataclass(frozen=True, slots=True)
class Counter:
    """A counter-indication: when these conditions hold, the tactic is held back for the reason in `why`."""

    conditions: tuple[Condition, ...]
    why: str


class Aim(StrEnum):
    """The wing to which a ball is sent: named by the rule, that of the weakness matched, the other one, or either."""

    FOREHAND = "forehand"
    BACKHAND = "backhand"
    AIMED = "aimed"
    OTHER = "other"
    EITHER = "either"

    def wing(self, aimed: Wing | None) -> Wing | None:
        """Return the wing, given that of the weakness; None for half of the balls to each."""
        match self:
            case Aim.FOREHAND | Aim.BACKHAND:
                return Wing(self.value)
            case Aim.AIMED:
                return aimed
            case Aim.OTHER:
                return aimed.other if aimed else None
            case _:
                return None


@dataclass(frozen=True, slots=True)
class Ball:
    """A ball, by the qualities of theirs that it finds (loads), or a mix of other balls, by shares that sum to 1."""

    id: str
    title: str
    finds: Loads = field(default_factory=dict)
    of: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Sent:
    """So many balls a tried point, to a wing, in place of another ball or of a mix, which goes to either wing."""

    ball: str
    per_point: float
    instead_of: str
    wing: Aim = Aim.EITHER


class Touches(StrEnum):
    """Which points a tactic touches."""

    SERVE = "serve"
    RETURN = "return"
    BOTH = "both"


MOVES = ("first_serves_in", "won_behind_first", "double_faults", "won_in_play")
"""Own shares that a serve may move: first serves in, points won behind them, double faults of second serves, and points
won on second serves in play."""


@dataclass(frozen=True, slots=True)
class Price:
    """Price of a tactic, tried in a `share` of all points; `costs` is in points over all of them.

    A tried point `sends` balls, plays more of `own` strokes, `gives` theirs, `moves` own shares, and gains `spot` for
    each unit by which their favourite serve spot exceeds the usual share.
    """

    points: Touches
    share: float
    sends: tuple[Sent, ...] = ()
    own: Loads = field(default_factory=dict)
    gives: Loads = field(default_factory=dict)
    moves: Mapping[str, float] = field(default_factory=dict)
    spot: float = 0.0
    costs: float = 0.0

    @property
    def aims(self) -> bool:
        """Return True if the price depends on the wing of the matched weakness."""
        return any(sent.wing in (Aim.AIMED, Aim.OTHER) for sent in self.sends)


class RelationKind(StrEnum):
    """How two tactics stand to each other."""

    SUPPORTS = "supports"
    CONFLICTS = "conflicts"
    OVERRIDES = "overrides"
    YIELDS_TO = "yields-to"


@dataclass(frozen=True, slots=True)
class Relation:
    """A tie from one tactic to another; `settled` says how a conflict is decided, `by` "belief" or authority."""

    kind: RelationKind
    to: str
    settled: str | None = None
    by: str | None = None


@dataclass(frozen=True, slots=True)
class SourceRef:
    """A source that backs a fact in the tactic: a key of the source list, and the fact it backs."""

    key: str
    backs: str


@dataclass(frozen=True, slots=True)
class Tactic:
    """One tactic, as a rule file states it: with a `price`, or with an `order` among the lines that send no ball.

    `loads` names parts of the own body that it strains; `tires`: it works the opponent harder.
    """

    id: str
    category: str
    title: str
    say: str
    why: str
    when: tuple[Alternative, ...]
    needs: tuple[Gate, ...]
    unless: tuple[Counter, ...]
    not_if: str
    stop_when: str
    show: Show
    risk: str
    authority: int
    price: Price | None = None
    order: int = 0
    relations: tuple[Relation, ...] = ()
    sources: tuple[SourceRef, ...] = ()
    caution: str | None = None
    moments: tuple[Moment, ...] = ()
    targets: str | None = None
    alone: bool = False
    loads: tuple[str, ...] = ()
    tires: bool = False
    coaches_differ: str | None = None
    deprecated: str | None = None
    house: bool = False
    status: str = field(default="common practice")
    touches: Touches = field(init=False)

    def __post_init__(self) -> None:
        """Say which points it touches; all, if it has no price."""
        object.__setattr__(self, "touches", self.price.points if self.price else Touches.BOTH)


@dataclass(frozen=True, slots=True)
class Circumstance:
    """A named state of things: derived by rules (`when`) or computed from the situation (`when` empty)."""

    id: str
    means: str
    when: tuple[tuple[Condition, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Source:
    """A publication that tactics may cite. `status` says how its content is known."""

    key: str
    citation: str
    backs: str
    status: str


@dataclass(frozen=True, slots=True)
class Category:
    """A group of tactics. `tactical` is False for physical care and law."""

    id: str
    title: str
    tactical: bool
    authority: int


@dataclass(frozen=True, slots=True)
class MomentRule:
    """What a moment may show: at most `limit` suggestions, reminders of some categories, `only_categories` of all."""

    moment: Moment
    limit: int
    reminders: tuple[str, ...]
    only_categories: bool = False


@dataclass(frozen=True, slots=True)
class DangerSign:
    """A sign at which play stops. Whoever had one `for_the_match` does not play on in that match."""

    id: str
    words: tuple[str, ...]
    for_the_match: bool = False


@dataclass(frozen=True, slots=True)
class DangerWords:
    """The danger signs and the words for them and for pain, as rules/danger-signs.yaml writes them."""

    window: int
    negators: frozenset[str]
    harmless: tuple[str, ...]
    signs: tuple[DangerSign, ...]
    pain_sites: Mapping[str, str]
    hurts: str
    clear: str
    fine: str
    not_pain: tuple[str, ...]


NO_WORDS = DangerWords(2, frozenset(), (), (), {}, "pain", "clear", "fine", ())


@dataclass(frozen=True, slots=True)
class Rulebook:
    """All knowledge, in vocabulary order, with the digest of exactly these rules."""

    version: str
    digest: str
    defaults: Mapping[str, Any]
    sources: Mapping[str, Source]
    kinds: Mapping[str, ObservationKind]
    qualities: Mapping[str, Quality]
    traits: Mapping[str, Trait]
    categories: Mapping[str, Category]
    moments: Mapping[Moment, MomentRule]
    circumstances: Mapping[str, Circumstance]
    tactics: Mapping[str, Tactic]
    balls: Mapping[str, Ball] = field(default_factory=dict)
    places: Mapping[str, Place] = field(default_factory=dict)
    figures: Mapping[str, str] = field(default_factory=dict)
    danger: DangerWords = NO_WORDS
