"""The user's fixed sensible plan: the game that suits their own strokes against the usual opponent.

It leans on what the user does well, so that whatever a tactic adds to it is due to who stands on the other side.
"""

from functools import lru_cache
from typing import Final

import numpy as np

from tests.rehearsal.world.habits import Habits, normal, opponent_habits, planned
from tests.rehearsal.world.points import opposition, worth
from tests.rehearsal.world.qualities import FACTORS, LOADINGS, Nature, Player, opponent
from tests.rehearsal.world.worlds import HOME, World

ROUNDS: Final = 3
SHARPNESS: Final = 6.0  # how strongly better plays are preferred, a unit of point chance and a round


def usual_nature(left: bool, world: World = HOME) -> Nature:
    """An opponent who is average in everything."""
    return Nature(dict.fromkeys((*FACTORS, *LOADINGS), 0.0), left, "two-handed", None, world)


@lru_cache(maxsize=64)
def _usual(left: bool, user_left: bool, world: World) -> tuple[Player, Habits, Habits]:
    nature = usual_nature(left, world)
    same = left == user_left
    return opponent(nature), opponent_habits(nature, same, user_left), planned(same, left)


def own_plan(own: Player, opponent_left: bool) -> Habits:
    """Start from the ordinary plan and choose more often what is worth more against the usual opponent."""
    other, habits, plan = _usual(opponent_left, own.left, own.world)
    facing = opposition(own, other, habits, 0.0)
    for _ in range(ROUNDS):
        play, serve = worth(facing, plan)
        serves = plan.serves * np.exp(SHARPNESS * serve)
        mix = normal(plan.mix * np.exp(SHARPNESS * play))
        plan = Habits(mix, np.asarray(serves / serves.sum(axis=(2, 3), keepdims=True)))
    return plan
