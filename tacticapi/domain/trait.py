"""Traits: what may be true of an opponent, and what speaks for or against it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from tacticapi.domain.terms import Wing


class WingRule(StrEnum):
    """Whether a trait is one belief or one a wing."""

    NONE = "none"
    EACH = "each"
    FOREHAND = "forehand"
    BACKHAND = "backhand"


class TermForm(StrEnum):
    """How a term reads its observations."""

    SHARES = "shares"  # a out of b, Beta-Binomial with two shares
    TABLE = "table"  # graded: rating, value, amount band or seen
    FAVOURITE = "favourite"  # Dirichlet-multinomial over which option is the favourite
    ENDS = "ends"  # errors at the worse end against the other end


@dataclass(frozen=True, slots=True)
class Term:
    """One piece of evidence for a trait.

    `what` is an observation id. `wing` says whose wing must be on the observation: None (any), "same" (the
    belief's own wing), "other", or a fixed wing. `serve` and `court` narrow further. `moves` names the one wing whose
    belief the term moves, where the kind itself names a wing (None: every belief of the trait).
    SHARES: `p_if_true` and `p_if_false` are the shares of `options` (or of the count) when the trait holds and when it
    does not; `kappa` is the size of the Beta prior behind each.
    TABLE: `table` maps a level to (chance if it holds, chance if not); both columns sum to 1. Levels are the
    ratings "0" to "4", the options of the kind, the names of `bands`, or "seen" and "not-seen".
    FAVOURITE: `p_if_true` is the share of the favourite option, `kappa` the Dirichlet total,
    `base` the options' shares without a favourite.
    ENDS: `p_if_true` and `p_if_false` are the shares at the worse and the other end; without the trait they are alike.
    """

    what: str
    form: TermForm
    word: str
    wing: str | None = None
    serve: str | None = None
    court: str | None = None
    moves: str | None = None
    p_if_true: float = 0.0
    p_if_false: float = 0.0
    kappa: float = 0.0
    options: tuple[str, ...] = ()
    base: tuple[float, ...] = ()
    table: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    bands: tuple[tuple[str, float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Trait:
    """One hypothesis about the opponent: prior, evidence, and what it must not be inferred from.

    `excludes` names the group of traits of which at most one can hold. `unused_because` explains why no tactic asks for
    it, where none does.
    """

    id: str
    title: str
    means: str
    wing: WingRule
    prior: float
    terms: tuple[Term, ...]
    excludes: str | None = None
    not_from: str | None = None
    unused_because: str | None = None

    @property
    def wings(self) -> tuple[Wing | None, ...]:
        """One entry a belief: each wing, a fixed wing, or None."""
        match self.wing:
            case WingRule.EACH:
                return (Wing.FOREHAND, Wing.BACKHAND)
            case WingRule.NONE:
                return (None,)
            case _:
                return (Wing(self.wing.value),)
