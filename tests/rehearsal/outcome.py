"""What one opponent's rehearsal brings home: plain data only, so that it passes between processes."""

from dataclasses import dataclass
from enum import StrEnum

from tests.rehearsal.world.tactics import Chosen


class Stage(StrEnum):
    """When the players choose their tactics."""

    WARM_UP = "after the warm-up"
    FOUR_GAMES = "after four games"
    SET = "after a set"


@dataclass(frozen=True, slots=True)
class Believed:
    """One belief: the probability before and after anything was seen, and whether it is true."""

    trait: str
    wing: str | None
    prior: float
    probability: float
    true: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One suggestion as it is played here, and what it claims.

    `price` is its gain a point (nought if it claims none), `match_low` and `match_high` its 80 % interval in match
    chance, `pays_in` the share of such opponents that it pays against; None if nothing is claimed.
    """

    play: Chosen
    price: float = 0.0
    match_low: float | None = None
    match_high: float | None = None
    pays_in: float | None = None


@dataclass(frozen=True, slots=True)
class Held:
    """A suggestion that this world can play, held against it: its true gains a point and in match chance."""

    line: Line
    true: float
    match_true: float


@dataclass(frozen=True, slots=True)
class Reach:
    """Chances to win a point: with the sensible plan, the advice, free choice by price, and the best tactics.

    `free` goes by the prices of the service, `old` by the old table, whatever the conditions of a tactic ask for.
    """

    plain: float
    advised: float
    free: float
    old: float
    best: float
    held: tuple[Held, ...] = ()


@dataclass(frozen=True, slots=True)
class AtStage:
    """What was believed at one stage, of traits and of the weaker wing, and what came of it if advice was given."""

    believed: tuple[Believed, ...]
    backhand_weaker: Believed
    reach: Reach | None = None


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """One opponent of a world: its index and the stages in order."""

    world: str
    index: int
    stages: dict[Stage, AtStage]
