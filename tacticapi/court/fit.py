"""A player's spread from how many balls were in, in the net, long and wide: maximum likelihood with an interval."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import xlogy

from tacticapi.court.dimensions import Floats
from tacticapi.court.shot import Place, Shot, aimed
from tacticapi.court.window import Outcome, Spread, Window

SMALLEST, LARGEST = 0.2, 12.0  # degrees; what is looked through
TRIED: Final = 141
WITHIN: Final = 1.642  # 80 % point of chi-squared with one degree of freedom
LEAST: Final = 1e-12


@dataclass(frozen=True, slots=True)
class Fitted:
    """A spread in one direction (degrees) with its 80 % interval; an end that the counts leave open is None."""

    degrees: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class FittedSpread:
    """The likeliest spread and the number of balls behind it."""

    vertical: Fitted
    sideways: Fitted
    balls: float

    @property
    def spread(self) -> Spread:
        """The likeliest one."""
        return Spread(self.vertical.degrees, self.sideways.degrees)


def fitted_spread(shot: Shot, place: Place, counts: Mapping[Outcome, float]) -> FittedSpread:
    """The spread under which these counts of one stroke are likeliest, the player aiming where the stroke says.

    The interval of each direction is that of the profile likelihood (80 %). Raises ValueError without any ball.
    """
    balls = float(sum(counts.values()))
    if balls <= 0:
        raise ValueError("no ball was counted")
    aim, tried = aimed(shot, place), np.geomspace(SMALLEST, LARGEST, TRIED)
    window = Window.of(shot, place, aim, Spread(LARGEST / 2, LARGEST / 2))
    up, way = window.weights(aim, tried, tried)
    likelihood = np.zeros((TRIED, TRIED))
    for outcome, count in counts.items():
        chance = up @ (window.codes == outcome) @ way.T
        likelihood += xlogy(count, np.maximum(chance, LEAST))
    return FittedSpread(_profiled(likelihood.max(axis=1), tried), _profiled(likelihood.max(axis=0), tried), balls)


def _profiled(profile: Floats, tried: Floats) -> Fitted:
    """The likeliest spread of a profile and the ends where it has fallen by half of `WITHIN`."""
    best, line = int(profile.argmax()), profile.max() - WITHIN / 2
    inside = np.flatnonzero(profile >= line)
    first, last = int(inside[0]), int(inside[-1])
    low = None if first == 0 else _met(profile, tried, first - 1, line)
    high = None if last == len(tried) - 1 else _met(profile, tried, last, line)
    return Fitted(float(tried[best]), low, high)


def _met(profile: Floats, tried: Floats, place: int, line: float) -> float:
    """Where the profile passes the line between two tried spreads."""
    one, two = profile[place], profile[place + 1]
    part = (line - one) / (two - one) if two != one else 0.0
    return float(np.exp(np.log(tried[place]) * (1 - part) + np.log(tried[place + 1]) * part))
