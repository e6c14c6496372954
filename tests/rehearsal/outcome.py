"""What one opponent's rehearsal brings home: plain numbers only, so that they pass between processes."""

from dataclasses import dataclass
from enum import StrEnum


class Stage(StrEnum):
    """When the players choose their tactics."""

    WARM_UP = "after the warm-up"
    FOUR_GAMES = "after four games"
    SET = "after a set"


@dataclass(frozen=True, slots=True)
class Suggested:
    """One suggestion held against the world: what it claimed a point, and has.

    In match chance, the bounds that it claimed and the gain that it has.
    `on_court` is False for a tactic that this world plays as no change. `aim` is 0 forehand, 1 backhand. `rests_on`
    lists traits; `tried` and `won` are the user's own record of the tactic when it was suggested.
    """

    tactic: str
    aim: int
    rests_on: tuple[tuple[str, str | None], ...]
    claimed: float
    true: float
    on_court: bool
    match_low: float | None = None
    match_high: float | None = None
    match_true: float | None = None


@dataclass(frozen=True, slots=True)
class Believed:
    """One belief and whether it holds."""

    trait: str
    wing: str | None
    prior: float
    probability: float
    holds: bool


@dataclass(frozen=True, slots=True)
class ByPrice:
    """Chances to win a point with the tactics of the best prices, whatever their conditions ask for.

    Priced by our beliefs, by the truth behind the beliefs, and by what each tactic truly adds alone.
    """

    beliefs: float
    truths: float
    singles: float


@dataclass(frozen=True, slots=True)
class AtStage:
    """What the four players reach at one stage, in chances to win a point, and what the advised one was told."""

    plain: float
    advised: float
    drawn: float
    best: float
    suggested: tuple[Suggested, ...]
    believed: tuple[Believed, ...]
    by_price: ByPrice


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """One opponent: its index and the stages in order.

    `counts` holds the raw notes (kind, wing, serve, count, of) that fitting wants, `own` the user's ratings in order,
    `singles` what each playable tactic alone adds a point.
    """

    index: int
    stages: dict[Stage, AtStage]
    counts: tuple[tuple[str, str | None, str | None, float, float], ...] = ()
    own: tuple[float, ...] = ()
    singles: tuple[float, ...] = ()
