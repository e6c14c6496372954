"""What comes of a stroke: an error, a winner, a short ball or a good ball, by who hits what from where to whom.

All numbers are log-odds and this world's own assumptions. They were set, before any advice was tried, so that points
look like tennis and so that no shot and no serve pays by itself against the average opponent: what pays, pays because
of who stands there.
"""

from collections.abc import Mapping
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tests.rehearsal.world.qualities import Player
from tests.rehearsal.world.shots import (
    BACKHAND,
    BALLS,
    FOREHAND,
    MIDDLE,
    PLAY_BALL,
    PLAY_SHOT,
    PLAY_SIDE,
    PLAY_TARGET,
    PLAY_WING,
    SHOTS,
    Floats,
)
from tests.rehearsal.world.worlds import World

ERROR, WINNER, SHORT, GOOD = 0, 1, 2, 3
USUAL_ERROR, USUAL_WINNER, USUAL_SHORT = -2.35, -3.0, -1.45
LINE, ACROSS, STRAIGHT = 0.22, 0.0, -0.10  # to the line the net is higher and the court shorter
ROUND_COST = 0.20  # what running round the backhand costs the stroke itself
SHORT_BY_HANDLING, WINNER_BY_HANDLING, WINNER_BY_CRAFT = 0.8, 0.4, 0.5

HARD: Final[Mapping[str, float]] = {  # how hard a ball is to play
    "neutral": 0.0, "high": 0.0, "low": 0.0, "fast": 0.20, "slow": -0.35, "wide": 0.25, "body": -0.05,
    "short": -0.20, "drop": 0.45, "pass": 0.55, "volley": 0.40, "smash": 0.35,
    "first/wide": 1.22, "first/body": 1.38, "first/T": 1.36, "spin/wide": 1.02, "spin/body": 1.34, "spin/T": 1.16,
    "second/wide": 0.30, "second/body": 0.65, "second/T": 0.52, "kick/wide": 0.18, "kick/body": 0.50, "kick/T": 0.34,
}  # fmt: skip
CHANCE: Final[Mapping[str, float]] = {  # how much a ball invites a winner
    "neutral": 0.0, "high": -0.15, "low": -0.20, "fast": -0.20, "slow": 0.5, "wide": -0.3, "body": -0.2,
    "short": 1.5, "drop": 0.6, "pass": 1.3, "volley": 1.9, "smash": 2.2,
}  # fmt: skip
RETURN_CHANCE: Final = {"first": -1.2, "spin": -0.8, "second": -0.2, "kick": -0.5}
RISK: Final[Mapping[str, float]] = {  # how risky a shot is to hit
    "neutral": 0.0, "high": 0.25, "low": 0.24, "fast": 1.03, "slow": -0.46, "wide": 0.91, "body": 0.35,
    "drop": 1.33, "approach": 0.81, "lob": 0.09, "block": 0.08,
}  # fmt: skip
HURTS: Final[Mapping[str, float]] = {  # how much a shot wins outright
    "neutral": 0.0, "high": -0.9, "low": -0.9, "fast": 0.9, "slow": -1.4, "wide": 0.7, "body": -0.8,
    "drop": 1.0, "approach": -0.3, "lob": -0.5, "block": -1.6,
}  # fmt: skip
DROPS_SHORT: Final[Mapping[str, float]] = {  # how often a shot falls short
    "neutral": 0.0, "high": -0.1, "low": 0.0, "fast": -0.7, "slow": 0.5, "wide": 0.0, "body": -0.3,
    "drop": -0.6, "approach": -0.4, "lob": 0.2, "block": 0.4,
}  # fmt: skip


def _by_ball(table: Mapping[str, float]) -> Floats:
    return np.array([table.get(ball, RETURN_CHANCE.get(ball.partition("/")[0], 0.0)) for ball in BALLS])


_ROUND = ROUND_COST * ((PLAY_SIDE == BACKHAND) & (PLAY_WING == FOREHAND))
_HARD, _CHANCE = _by_ball(HARD)[PLAY_BALL] + _ROUND, _by_ball(CHANCE)[PLAY_BALL]
_RISK, _HURTS, _DROPS_SHORT = (np.array([t[s] for s in SHOTS])[PLAY_SHOT] for t in (RISK, HURTS, DROPS_SHORT))


def sigmoid(x: Floats) -> Floats:
    """Chance of a log-odds."""
    return np.asarray(1.0 / (1.0 + np.exp(-x)))


def line_cost(same_handed: bool) -> Floats:
    """What the direction of each play costs; same-handed players meet forehand to forehand across the court."""
    across = (PLAY_WING == PLAY_TARGET) == same_handed
    return np.where(PLAY_TARGET == MIDDLE, STRAIGHT, np.where(across, ACROSS, LINE))


@lru_cache(maxsize=16)
def usual(world: World) -> tuple[Floats, Floats, Floats]:
    """Return log-odds of an error, a winner and a short ball of the usual player, by play."""
    error, winner, short = (world.shifts[what][PLAY_BALL, PLAY_WING] for what in ("error", "winner", "short"))
    pass_, net = _is("pass"), _is("volley") | _is("smash")
    at_net = world.net * (pass_.astype(float) - net)  # a harder pass, an easier volley
    return (
        USUAL_ERROR + _HARD + _RISK + world.misses + at_net + error,
        USUAL_WINNER + _CHANCE + winner,
        USUAL_SHORT + _HARD + _DROPS_SHORT + at_net + short,
    )


def _is(ball: str) -> NDArray[np.bool_]:
    return np.asarray(BALLS.index(ball) == PLAY_BALL)


class Hitting:
    """What comes of one player's strokes to another: log-odds that no mood changes are worked out once."""

    def __init__(self, hitter: Player, receiver: Player) -> None:
        """Work out log-odds of errors and short balls, and the chance of a winner where there is no error."""
        skill = hitter.handle[PLAY_BALL, PLAY_WING] - receiver.bite[PLAY_BALL]
        craft = hitter.craft[PLAY_SHOT]
        error, winner, short = usual(hitter.world)
        self._error = error + line_cost(hitter.left == receiver.left) - craft - skill
        threat = _HURTS + hitter.hurt[PLAY_WING] + WINNER_BY_CRAFT * craft - receiver.cover[PLAY_TARGET]
        self._winner = sigmoid(winner + (threat + WINNER_BY_HANDLING * skill))
        self._short = short - hitter.depth - SHORT_BY_HANDLING * skill

    def outcomes(self, worse: float = 0.0) -> Floats:
        """Chances (N_PLAYS, 4) of error, winner, short and good ball.

        `worse` is added to the log-odds of an error, and half of it to those of a short ball.
        """
        error = sigmoid(self._error + worse)
        winner = (1.0 - error) * self._winner
        left = 1.0 - error - winner
        short = left * sigmoid(self._short + worse / 2)
        return np.stack((error, winner, short, left - short), axis=-1)
