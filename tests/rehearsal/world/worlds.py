"""The worlds that advice is judged in: one generator, five sets of a few numbers, and a shift of the usual shares.

A shift moves the share of every count that makes up the usual player by a normal number of log-odds, since nobody who
advises knows the usual shares of a level. One shift belongs to a world and a run; all its opponents share it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

import numpy as np

from tests.rehearsal.world.shots import KINDS, N_BALLS, RALLY, SHOTS, SPOTS, Floats

HABITS: Final = ("attack", "block", "comes_in", "lobs", "middle", "run_round", "drops", "kick")
MOVED: Final = {  # what is shifted, and its shape
    "error": (N_BALLS, 2), "winner": (N_BALLS, 2), "short": (N_BALLS, 2), "made": (2,), "serves_in": (len(KINDS),),
    "aces": (len(KINDS),), "spots": (len(SPOTS),), "shots": (len(SHOTS),), "aims": (3,), **dict.fromkeys(HABITS, ()),
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class World:
    """The few numbers that a world has of its own.

    `spread`, `wing` and `ball` multiply the spreads of all qualities, of the wings and of the kinds of ball; `rhythm`
    what a change of ball does. `misses` and `net` are log-odds: of an error on any stroke, and in favour of the player
    at the net. Without `shared`, no two qualities go together. `shifts` moves usual shares, by the names in MOVED.
    """

    name: str
    spread: float = 1.0
    wing: float = 1.0
    ball: float = 1.0
    rhythm: float = 1.0
    misses: float = 0.0
    net: float = 0.0
    shared: bool = True
    shifts: Mapping[str, Floats] = field(default_factory=lambda: MappingProxyType(_unshifted()))


def _unshifted() -> dict[str, Floats]:
    return {name: np.zeros(shape) for name, shape in MOVED.items()}


HOME: Final = World("home")
WORLDS: Final = {
    world.name: world
    for world in (
        HOME,
        World("wide", spread=2.0),
        World("wings", wing=2.0, ball=0.4),
        World("club", misses=0.35, net=0.15, rhythm=0.4),
        World("independent", shared=False),
    )
}


def shifted(world: World, seed: int, sd: float) -> World:
    """Return the world with its usual shares moved by N(0, sd) log-odds; the same seed and name, the same moves."""
    rng = np.random.default_rng([seed, *world.name.encode()])
    return replace(world, shifts={name: sd * _drawn(rng, shape) for name, shape in MOVED.items()})


def _drawn(rng: np.random.Generator, shape: tuple[int, ...]) -> Floats:
    """Draw standard normal moves; those of strokes are half a wing's own, and the spots of a serve move together."""
    moves = np.asarray(rng.standard_normal(shape))
    if shape != (N_BALLS, 2):
        return moves
    by_kind = np.repeat(moves[len(RALLY) :: len(SPOTS)], len(SPOTS), axis=0)
    return np.asarray(np.sqrt(0.5) * (np.concatenate((moves[: len(RALLY)], by_kind)) + rng.standard_normal(2)))
