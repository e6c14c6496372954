"""Define the rulebook in memory: observation kinds, traits, tactics and sources, read once and never changed."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import chain
from typing import Annotated, Any

from tacticapi.domain import Figure
from tacticapi.domain.court import Place
from tacticapi.domain.situation import Moment, Phase, Show, Way, Wing


class Level(StrEnum):
    """A player's level, which determines the usual shares and spreads."""

    TOUR = "tour"
    ADVANCED = "advanced"
    CLUB = "club"
    JUNIOR = "junior"


USUAL_LEVEL = Level.CLUB
Loads = Mapping[str, float]
"""Each quality's weight in a sum, by id; `id/forehand`, `id/backhand` or `id/other` if it has wings."""


@dataclass(frozen=True, slots=True)
class Quality:
    """One of a player's latent qualities, a skill or a habit, in log-odds relative to the usual player at that level.

    `spread` is its standard deviation between players; `carry_over` is the share of variance that carries over to the
    next match.
    """

    id: str
    title: str
    has_wings: bool
    spread: Mapping[Level, float]
    carry_over: float
    habit: bool = False

    @property
    def wings(self) -> tuple[Wing | None, ...]:
        """Return one entry per latent value: each wing, or None."""
        return tuple(Wing) if self.has_wings else (None,)


@dataclass(frozen=True, slots=True)
class Measure:
    """How a kind of observation measures a weighted sum of qualities.

    `usual` is the mean share of hits, either of `options` or of the `largest` option. Words, seen and amount are
    steps on the rating scale, from its middle. `ends` marks misses that also depend on which end the player is at.
    """

    loads: Loads
    usual: Annotated[Mapping[Level, float], "The usual share by level, if counted."] = field(default_factory=dict)
    options: Annotated[tuple[str, ...], "The options that count as hits."] = ()
    words: Annotated[Mapping[str, float], "Steps on the rating scale, by word."] = field(default_factory=dict)
    amount: tuple[Mapping[Level, float], float] | None = None
    seen: tuple[float, float] | None = None
    serve: Annotated[str | None, "The only serve that the measure applies to."] = None
    court: Annotated[str | None, "The only court that the measure applies to."] = None
    way: Way | None = None
    ends: bool = False
    largest: bool = False


@dataclass(frozen=True, slots=True)
class Region:
    """A region of the profile: a weighted sum between two of its quantiles among players at one level."""

    of: Annotated[Loads, "Each quality's weight; id, or id/forehand, id/backhand, id/other."]
    low: Annotated[float, Figure(0, 1), "The lower quantile."]
    high: Annotated[float, Figure(0, 1), "The higher quantile."]
    outer: Annotated[bool, "True if the region lies outside these quantiles, not between them."] = False


@dataclass(frozen=True, slots=True)
class ObservationKind:
    """One kind of observation.

    `if_more` and `if_less` say what the opponent leaves open if the count rises or falls.
    """

    id: Annotated[str, "Id; never reused."]
    title: Annotated[str, "Title."]
    asks: Annotated[str, "The question for the observer."]
    says: Annotated[str, "The first words of a reason."]
    ways: Annotated[tuple[Annotated[Way, "A form."], ...], "The forms that may be posted; text goes in `value`."]
    phases: Annotated[tuple[Annotated[Phase, "A phase."], ...], "When it can be observed."]
    options: Annotated[tuple[str, ...], "The allowed words for value and counts."] = ()
    unit: Annotated[str | None, "Unit of an amount."] = None
    low: Annotated[float | None, "Minimum amount."] = None
    high: Annotated[float | None, "Maximum amount."] = None
    qualifiers: Mapping[str, str] = field(default_factory=dict)
    trap: Annotated[str | None, "A common mistake when observing it."] = None
    probe: Annotated[str | None, "How to make the opponent show it."] = None
    starter: Annotated[int | None, "Position in the starter set, from 1."] = None
    needs_end: Annotated[bool, "True if wind or sun makes it unreliable unless the end is posted too."] = False
    health: Annotated[bool, "True if it is about health."] = False
    unused_because: str | None = None
    measures: Annotated[tuple[Measure, ...], "Its effect on the profile."] = ()
    same_as: Annotated[str | None, "A kind that counts the same balls; the larger count is used."] = None
    if_more: str | None = None
    if_less: str | None = None

    subject: Annotated[str, "The part of the id before the dot."] = field(init=False)
    key: str = field(init=False)

    def __post_init__(self) -> None:
        subject, _, key = self.id.partition(".")
        object.__setattr__(self, "subject", subject)
        object.__setattr__(self, "key", key)


class WingRule(StrEnum):
    """A trait's wings: a single belief, one per wing, or one for a fixed wing."""

    NONE = "none"
    EACH = "each"
    FOREHAND = "forehand"
    BACKHAND = "backhand"


@dataclass(frozen=True, slots=True)
class Trait:
    """One thing that may be true of an opponent: a name for a region of the profile."""

    id: Annotated[str, "Id; never reused."]
    title: Annotated[str, "Title."]
    means: Annotated[str, "What it means."]
    wing: Annotated[WingRule, "The trait's wings: a single belief, one per wing, or one for a fixed wing."]
    regions: Annotated[tuple[Region, ...], "The regions in which the trait is true; all must hold. Model default."] = ()
    favourite: Annotated[float | None, "The share that one serve spot must reach, instead of a region."] = None
    either: bool = False  # one of the regions suffices
    not_from: Annotated[str | None, "What the trait must not be inferred from."] = None
    unused_because: str | None = None

    @property
    def wings(self) -> tuple[Wing | None, ...]:
        """Return one entry per belief: each wing, a fixed wing, or None."""
        if self.wing is WingRule.EACH:
            return tuple(Wing)
        return (None if self.wing is WingRule.NONE else Wing(self.wing.value),)


TraitKey = tuple[str, Wing | None]
"""A trait id, and the wing of the belief; None if it has no wing."""


class FactKind(StrEnum):
    """A condition's subject; also the kinds of facts that the matcher supports."""

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
    """The only comparisons that the matcher supports."""

    IS = "is"
    AT_LEAST = "at_least"
    AT_MOST = "at_most"


@dataclass(frozen=True, slots=True)
class Test:
    """One comparison on one field of one fact. Numbers are integers; words come from a closed list."""

    __test__ = False  # not a pytest class

    field: str
    op: Op
    value: int | str


@dataclass(frozen=True, slots=True)
class Condition:
    """One fact that must be present; `same_wing` requires the wing of the first condition that has a wing."""

    kind: FactKind
    name: str
    tests: tuple[Test, ...] = ()
    same_wing: bool = False


@dataclass(frozen=True, slots=True)
class Alternative:
    """Conditions that must all hold."""

    conditions: tuple[Condition, ...]
    say: str | None = None  # replaces the tactic's own line
    named: str | None = None  # replaces both if its slots are known


@dataclass(frozen=True, slots=True)
class Gate:
    """One of our abilities that the tactic needs."""

    keys: tuple[str, ...]
    at_least: Annotated[int, "The minimum rating, 0 to 4."]


@dataclass(frozen=True, slots=True)
class Counter:
    """A counter-indication that the service itself can check."""

    conditions: tuple[Condition, ...]
    why: Annotated[str, "Why the tactic is then unsuitable."]


class Aim(StrEnum):
    """The wing to which a ball is sent: fixed by the rule, the matched weakness, the other wing, or either."""

    FOREHAND = "forehand"
    BACKHAND = "backhand"
    AIMED = "aimed"
    OTHER = "other"
    EITHER = "either"

    def wing(self, aimed: Wing | None) -> Wing | None:
        """Return the wing, given the wing of the weakness; None means that half of the balls go to each wing."""
        if self is Aim.AIMED:
            return aimed
        if self is Aim.OTHER:
            return aimed and aimed.other
        return None if self is Aim.EITHER else Wing(self.value)


@dataclass(frozen=True, slots=True)
class Ball:
    """A ball, with the opponent's qualities that it finds (loads), or a mix of balls, with shares that sum to 1."""

    id: str
    title: str
    finds: Loads = field(default_factory=dict)
    of: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Sent:
    """Balls that a tactic sends, and what they replace."""

    ball: Annotated[str, "Id of the ball."]
    per_point: Annotated[float, "How many such balls are sent per tried point."]
    instead_of: Annotated[str, "Id of the ball or mix of balls that it replaces."]
    wing: Annotated[Aim, "The wing that the ball is sent to; `aimed` means the wing with the weakness."] = Aim.EITHER


class Touches(StrEnum):
    """The points that a tactic affects."""

    SERVE = "serve"
    RETURN = "return"
    BOTH = "both"


RISKS = ("low", "medium", "high")
MOVES = ("first_serves_in", "won_behind_first", "double_faults", "won_in_play")
"""Our shares that a serve may change: first serves in, points won behind first serves, double faults per second serve,
and points won on second serves in play."""


@dataclass(frozen=True, slots=True)
class Price:
    """A tactic's price: the balls sent and the balls replaced. All numbers are model defaults."""

    points: Annotated[Touches, "The points on which the tactic is tried."]
    share: Annotated[float, "The share of all points on which the tactic is tried."]
    sends: Annotated[tuple[Sent, ...], "The balls sent per tried point."] = ()
    own: Annotated[Loads, "Extra strokes of your own per tried point, by ability."] = field(default_factory=dict)
    gives: Annotated[Loads, "Worth in balls per tried point, by the opponent's quality."] = field(default_factory=dict)
    moves: Annotated[Mapping[str, float], "Changes in your serve shares if tried."] = field(default_factory=dict)
    spot: Annotated[float, "Points per tried return for each unit of share by which their favourite spot leads."] = 0.0
    costs: Annotated[float, "The tactic's cost in points, averaged over all points."] = 0.0

    @property
    def aims(self) -> bool:
        """Return True if the price depends on the wing of the matched weakness."""
        return any(sent.wing in (Aim.AIMED, Aim.OTHER) for sent in self.sends)


class RelationKind(StrEnum):
    """The kinds of relation between two tactics."""

    SUPPORTS = "supports"
    CONFLICTS = "conflicts"
    OVERRIDES = "overrides"
    YIELDS_TO = "yields-to"


@dataclass(frozen=True, slots=True)
class Relation:
    """A relation to another tactic."""

    kind: Annotated[RelationKind, "The kind of relation."]
    to: Annotated[str, "Id of the other tactic."]
    settled: Annotated[str | None, "How a conflict is settled."] = None
    by: str | None = None  # "belief": the firmer belief settles a conflict


@dataclass(frozen=True, slots=True)
class SourceRef:
    """A source for a fact in the tactic: its key in the source list, and the fact that it backs."""

    key: str
    backs: str


@dataclass(frozen=True, slots=True)
class Tactic:
    """One tactic.

    `loads` names the parts of your body that the tactic strains; `tires` means that it makes the opponent work harder.
    """

    id: Annotated[str, "Id; never reused."]
    category: Annotated[str, "Id of its category."]
    title: Annotated[str, "Title."]
    say: Annotated[str, "What to say on court if no wing is known."]
    why: Annotated[str, "Why the tactic works."]
    when: Annotated[tuple[Alternative, ...], "Alternative sets of conditions; any one is enough."]
    needs: Annotated[tuple[Gate, ...], "Your own abilities that the tactic needs."]
    unless: Annotated[tuple[Counter, ...], "Counter-indications that the service checks."]
    not_if: Annotated[str, "When not to use the tactic, in words."]
    stop_when: Annotated[str, "When to reconsider the tactic."]
    show: Annotated[Show, "How the tactic is ranked."]
    risk: Annotated[str, RISKS, "How risky the tactic is."]
    authority: Annotated[int, "Authority, from 1 (safety) to 8 (general percentage rule)."]
    price: Annotated[Price | None, "The balls sent and replaced; absent for a line that sends no ball."] = None
    order: Annotated[int, "Position among lines without a price, from 1; 0 for a line with a price."] = 0
    relations: Annotated[tuple[Relation, ...], "Relations to other tactics."] = ()
    sources: tuple[SourceRef, ...] = ()
    caution: Annotated[str | None, "A caution to show with the tactic."] = None
    moments: Annotated[tuple[Annotated[Moment, "A moment."], ...], "When it may be shown; empty means always."] = ()
    targets: Annotated[str | None, "How its serve targets are computed."] = None
    alone: Annotated[bool, "True if the line replaces all tactics."] = False
    loads: tuple[str, ...] = ()
    tires: bool = False
    coaches_differ: Annotated[str | None, "Both views, if coaches disagree."] = None
    deprecated: Annotated[str | None, "What to use instead, if the tactic is retired."] = None
    house: Annotated[bool, "True if it is a house rule."] = False
    status: str = "common practice"
    touches: Touches = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "touches", self.price.points if self.price else Touches.BOTH)

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """Return the conditions of all alternatives and counter-indications."""
        lists = [one.conditions for one in self.when] + [one.conditions for one in self.unless]
        return tuple(chain.from_iterable(lists))


@dataclass(frozen=True, slots=True)
class Circumstance:
    """A named state of the match, derived by rules (`when`) or, if `when` is empty, computed from the situation."""

    id: str
    means: str
    when: tuple[tuple[Condition, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Source:
    """A publication that tactics cite."""

    key: Annotated[str, "The key that tactics cite."]
    citation: Annotated[str, "The publication."]
    backs: Annotated[str, "The fact that the source backs."]
    status: Annotated[str, "How closely the source was read."]


@dataclass(frozen=True, slots=True)
class Category:
    """A group of tactics."""

    id: Annotated[str, "Id."]
    title: Annotated[str, "Title."]
    tactical: Annotated[bool, "False for physical care and law, which are not tactics."]
    authority: int


@dataclass(frozen=True, slots=True)
class MomentRule:
    """The limits on suggestions at a moment."""

    moment: Annotated[Moment, "The moment."]
    limit: Annotated[int, "The maximum number of suggestions, unless the request sets a limit."]
    reminders: Annotated[tuple[str, ...], "Categories whose reminders may be shown."]
    only_categories: Annotated[bool, "True if these categories limit all suggestions, not only reminders."] = False


@dataclass(frozen=True, slots=True)
class DangerSign:
    """A sign that stops play. After a sign with `for_the_match`, the player must not continue that match."""

    id: str
    words: tuple[str, ...]
    for_the_match: bool = False


@dataclass(frozen=True, slots=True)
class DangerWords:
    """The danger signs, and the words for them and for pain, from rules/danger-signs.yaml."""

    window: int
    negators: frozenset[str]
    harmless: tuple[str, ...]
    signs: tuple[DangerSign, ...]
    pain_sites: Mapping[str, str]
    hurts: str
    clear: str
    fine: str
    not_pain: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rulebook:
    """All rules and their vocabulary, in file order, with a digest of exactly these rules."""

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
    balls: Mapping[str, Ball]
    places: Mapping[str, Place]
    danger: DangerWords
