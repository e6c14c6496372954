"""The rulebook as the service holds it: observation kinds, traits, tactics and sources, read once, never changed."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated, Any

from tacticapi.domain import Figure
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
    """What a kind says about a weighted sum of qualities.

    `usual` is the mean share of hits, which `options` or the `largest` option make. Words, seen and amount are steps of
    the rating scale from its middle; `ends` are misses that also tell one end from the other.
    """

    loads: Loads
    usual: Annotated[Mapping[Level, float], "The usual share by level, if counted."] = field(default_factory=dict)
    options: Annotated[tuple[str, ...], "The options whose share it is."] = ()
    words: Annotated[Mapping[str, float], "Steps on the rating scale, by word."] = field(default_factory=dict)
    amount: tuple[Mapping[Level, float], float] | None = None
    seen: tuple[float, float] | None = None
    serve: Annotated[str | None, "Only on this serve."] = None
    court: Annotated[str | None, "Only in this court."] = None
    way: Way | None = None
    ends: bool = False
    largest: bool = False


@dataclass(frozen=True, slots=True)
class Region:
    """A region of the profile: a loaded sum between two quantiles of the players of a level."""

    of: Annotated[Loads, "The load of each quality; id, or id/forehand, id/backhand, id/other."]
    low: Annotated[float, Figure(0, 1), "The lower quantile."]
    high: Annotated[float, Figure(0, 1), "The higher quantile."]
    outer: Annotated[bool, "Whether it is true outside these quantiles, not between them."] = False


@dataclass(frozen=True, slots=True)
class ObservationKind:
    """One thing that can be seen.

    `if_more` and `if_less` say what a change of what is counted leaves open.
    """

    id: Annotated[str, "Id; never reused."]
    title: Annotated[str, "Title."]
    asks: Annotated[str, "The question to the observer."]
    says: Annotated[str, "The first words of a reason."]
    ways: Annotated[tuple[Annotated[Way, "A form it may be posted in."], ...], "Its forms; text goes into `value`."]
    phases: Annotated[tuple[Annotated[Phase, "A phase."], ...], "When it can be seen."]
    options: Annotated[tuple[str, ...], "The words for value and counts."] = ()
    unit: Annotated[str | None, "Unit of an amount."] = None
    low: Annotated[float | None, "Least amount."] = None
    high: Annotated[float | None, "Greatest amount."] = None
    qualifiers: Mapping[str, str] = field(default_factory=dict)
    trap: Annotated[str | None, "A common mistake in seeing it."] = None
    probe: Annotated[str | None, "How to provoke it."] = None
    starter: Annotated[int | None, "Place in the starter set, 1 first."] = None
    needs_end: Annotated[bool, "Whether wind or sun spoils it unless it carries the end."] = False
    health: Annotated[bool, "Whether it is about health."] = False
    unused_because: str | None = None
    measures: Annotated[tuple[Measure, ...], "What it says about the profile."] = ()
    same_as: Annotated[str | None, "A kind for the same balls; the fuller count is read."] = None
    if_more: str | None = None
    if_less: str | None = None

    subject: Annotated[str, "The part of the id before the dot."] = field(init=False)
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
    """One thing that may be true of an opponent: a word for a region of the profile."""

    id: Annotated[str, "Id; never reused."]
    title: Annotated[str, "Title."]
    means: Annotated[str, "What it means."]
    wing: Annotated[WingRule, "Whether it is one belief or one for each wing."]
    regions: Annotated[tuple[Region, ...], "The regions in which it is true; all must hold. Model default."] = ()
    favourite: Annotated[float | None, "The share that one serve spot must take, instead of a region."] = None
    either: bool = False  # one of the regions suffices
    not_from: Annotated[str | None, "What it must not be inferred from."] = None
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
    """Conditions that must all hold."""

    conditions: tuple[Condition, ...]
    say: str | None = None  # replaces the tactic's own line
    named: str | None = None  # replaces both where its slots are known


@dataclass(frozen=True, slots=True)
class Gate:
    """An own ability that the tactic needs."""

    keys: tuple[str, ...]
    at_least: Annotated[int, "The rating that it takes, 0 to 4."]


@dataclass(frozen=True, slots=True)
class Counter:
    """A counter-indication that the service checks itself."""

    conditions: tuple[Condition, ...]
    why: Annotated[str, "Why not, then."]


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
    """Balls that it sends, and what they replace."""

    ball: Annotated[str, "Id of the ball."]
    per_point: Annotated[float, "How many a tried point."]
    instead_of: Annotated[str, "Id of the ball, or of the mix of balls, that it replaces."]
    wing: Annotated[Aim, "The wing that it is sent to; aimed: that of the weakness."] = Aim.EITHER


class Touches(StrEnum):
    """Which points a tactic touches."""

    SERVE = "serve"
    RETURN = "return"
    BOTH = "both"


RISKS = ("low", "medium", "high")
MOVES = ("first_serves_in", "won_behind_first", "double_faults", "won_in_play")
"""Own shares that a serve may move: first serves in, points won behind them, double faults of second serves, and points
won on second serves in play."""


@dataclass(frozen=True, slots=True)
class Price:
    """Price of a tactic: the balls sent and the balls replaced. All numbers are model defaults."""

    points: Annotated[Touches, "The points in which it is tried."]
    share: Annotated[float, "The part of all points in which it is tried."]
    sends: Annotated[tuple[Sent, ...], "Balls a tried point."] = ()
    own: Annotated[Loads, "Own balls a tried point beyond the usual, by ability."] = field(default_factory=dict)
    gives: Annotated[Loads, "Balls that their qualities give a tried point."] = field(default_factory=dict)
    moves: Annotated[Mapping[str, float], "Changes of own serve shares on a try."] = field(default_factory=dict)
    spot: Annotated[float, "Points a tried return for each unit of share by which their favourite spot leads."] = 0.0
    costs: Annotated[float, "Points over all points that it costs."] = 0.0

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
    """A tie to another tactic."""

    kind: Annotated[RelationKind, "The relation."]
    to: Annotated[str, "Id of the other tactic."]
    settled: Annotated[str | None, "How a conflict is settled."] = None
    by: str | None = None  # "belief" or authority


@dataclass(frozen=True, slots=True)
class SourceRef:
    """A source that backs a fact in the tactic: a key of the source list, and the fact it backs."""

    key: str
    backs: str


@dataclass(frozen=True, slots=True)
class Tactic:
    """One tactic.

    `loads` names parts of the own body that it strains; `tires`: it works the opponent harder.
    """

    id: Annotated[str, "Id; never reused."]
    category: Annotated[str, "Id of its category."]
    title: Annotated[str, "Title."]
    say: Annotated[str, "What to say on court if no wing is known."]
    why: Annotated[str, "Why it works."]
    when: Annotated[tuple[Alternative, ...], "Alternatives; one is enough."]
    needs: Annotated[tuple[Gate, ...], "Own abilities that it needs."]
    unless: Annotated[tuple[Counter, ...], "Counter-indications that the service checks."]
    not_if: Annotated[str, "When not, in words."]
    stop_when: Annotated[str, "When to look again."]
    show: Annotated[Show, "How it is ranked."]
    risk: Annotated[str, RISKS, "What can go wrong with it."]
    authority: Annotated[int, "1 safety to 8 general percentage rule."]
    price: Annotated[Price | None, "What it sends and replaces; absent for a line that sends no ball."] = None
    order: Annotated[int, "Its place among lines without a price, 1 first; 0 if it has a price."] = 0
    relations: Annotated[tuple[Relation, ...], "Ties to other tactics."] = ()
    sources: tuple[SourceRef, ...] = ()
    caution: Annotated[str | None, "A caution to show with it."] = None
    moments: Annotated[tuple[Annotated[Moment, "A moment."], ...], "When it may be shown; empty: any."] = ()
    targets: Annotated[str | None, "How its serve targets are computed."] = None
    alone: Annotated[bool, "Whether it silences tactics."] = False
    loads: tuple[str, ...] = ()
    tires: bool = False
    coaches_differ: Annotated[str | None, "Both views, if coaches disagree."] = None
    deprecated: Annotated[str | None, "What to use instead of a retired tactic."] = None
    house: Annotated[bool, "Whether it is a house rule."] = False
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
    """A publication that tactics cite."""

    key: Annotated[str, "Key; tactics cite it."]
    citation: Annotated[str, "The publication."]
    backs: Annotated[str, "What it backs."]
    status: Annotated[str, "How its content is known."]


@dataclass(frozen=True, slots=True)
class Category:
    """A group of tactics."""

    id: Annotated[str, "Id."]
    title: Annotated[str, "Title."]
    tactical: Annotated[bool, "False for what is no tactic: physical care, law."]
    authority: int


@dataclass(frozen=True, slots=True)
class MomentRule:
    """What a moment may show."""

    moment: Annotated[Moment, "The moment."]
    limit: Annotated[int, "Most suggestions, unless the request sets its own limit."]
    reminders: Annotated[tuple[str, ...], "Categories whose reminders may be shown."]
    only_categories: Annotated[bool, "Whether these categories narrow everything, not just reminders."] = False


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
    danger: DangerWords = NO_WORDS
