"""Tactics: what to do, when it speaks, when it must not, what it is worth, and who says so."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from tacticapi.domain.terms import Moment, Show, Wing

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
    """One fact that must be there: its kind, its name, and the tests that its fields must pass.

    `same_wing` joins the wing of this fact with that of the first condition that carries a wing.
    """

    kind: FactKind
    name: str
    tests: tuple[Test, ...] = ()
    same_wing: bool = False


@dataclass(frozen=True, slots=True)
class Alternative:
    """Conditions that must all hold. `scale` multiplies gain and loss; `say` replaces the tactic's own line."""

    conditions: tuple[Condition, ...]
    scale: float = 1.0
    say: str | None = None


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


class Touches(StrEnum):
    """Which points a tactic touches."""

    SERVE = "serve"
    RETURN = "return"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class Fitted:
    """A gain a touched point from simulation: a sum, as it depends on more than the traits that a tactic rests on.

    `base` is the gain where none of the beliefs hold and every stroke is rated 2; each belief adds its part times its
    probability, each own stroke its part for every step above 2, `same_handed` between players of one hand. `open` is
    the standard deviation of what all of this leaves open.
    """

    base: float
    open: float
    beliefs: Mapping[TraitKey, float] = field(default_factory=dict)
    strokes: Mapping[str, float] = field(default_factory=dict)
    same_handed: float = 0.0


@dataclass(frozen=True, slots=True)
class Effect:
    """Share of the touched points, gain a point if its traits hold, loss if not: model defaults.

    Where a simulation could play the tactic, `fitted` holds its gain by the wing aimed at (None: any) and stands in
    the place of gain and loss.

    `cause` names what gives the chance that a tactic without a trait is right: "certain" (law, conditions),
    "reminder", "own-errors", "observed".
    """

    applies_to: Touches
    share: float
    gain: float
    loss: float
    cause: str = "reminder"
    note: str = ""
    fitted: Mapping[Wing | None, Fitted] = field(default_factory=dict)

    def aimed_at(self, wing: Wing | None) -> Fitted | None:
        """The fitted gain of aiming at a wing; where the wing is open or makes no difference, of the usual aim."""
        return self.fitted.get(wing) or self.fitted.get(None) or self.fitted.get(Wing.BACKHAND)


class RelationKind(StrEnum):
    """How two tactics stand to each other."""

    SUPPORTS = "supports"
    CONFLICTS = "conflicts"
    OVERRIDES = "overrides"
    YIELDS_TO = "yields-to"


@dataclass(frozen=True, slots=True)
class Relation:
    """A tie from one tactic to another. For conflicts `settled` says in words how it is decided.

    `by` is "belief" where the firmer belief wins a conflict, None where authority and value do.
    """

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
    """One tactic, as a rule file states it.

    `loads` names the parts of the own body (arm, legs, trunk) that it loads more than ordinary play does; `tires` says
    that it works the opponent harder.
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
    effect: Effect
    authority: int
    relations: tuple[Relation, ...] = ()
    sources: tuple[SourceRef, ...] = ()
    caution: str | None = None
    moments: tuple[Moment, ...] = ()
    targets: str | None = None
    family: str | None = None
    alone: bool = False
    loads: tuple[str, ...] = ()
    tires: bool = False
    coaches_differ: str | None = None
    deprecated: str | None = None
    house: bool = False
    status: str = field(default="common practice")


@dataclass(frozen=True, slots=True)
class Circumstance:
    """A named state of things: derived by rules (`when`) or computed from the situation (`when` empty)."""

    id: str
    means: str
    when: tuple[tuple[Condition, ...], ...] = ()
