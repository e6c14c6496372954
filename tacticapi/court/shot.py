"""A shot as a player means it, in the conditions of a place, and the angles that bring it there."""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from tacticapi.court.ball import Ball
from tacticapi.court.bounce import Surface
from tacticapi.court.dimensions import COURT, Region
from tacticapi.court.flight import Flight, fly, launched

LOW, HIGH = (-60.0, 50.0), (25.0, 80.0)  # degrees above the horizon, around those that carry furthest
FAN: Final = 221

Spot = tuple[float, float]


class OutOfReachError(ValueError):
    """No elevation brings the ball to the target at its speed: it lands from `shortest` to `longest` metres away."""

    def __init__(self, shortest: float, longest: float) -> None:
        self.shortest, self.longest = shortest, longest
        super().__init__(f"the ball lands {shortest:.1f} to {longest:.1f} m away")


@dataclass(frozen=True, slots=True)
class Place:
    """Where it is played: the ball, the air (kg/m3), the court, whether singles sticks hold the net up."""

    ball: Ball
    density: float
    surface: Surface
    sticks: bool = True


@dataclass(frozen=True, slots=True)
class Shot:
    """A stroke: contact (m), target on the ground (m), speed (m/s), spins (rpm), and where it counts as in.

    topspin: negative for slice. sidespin: positive bends the ball to its own right. `high`: over the top of its way,
    as a lob, where two elevations reach the target.
    """

    contact: tuple[float, float, float]
    target: Spot
    speed: float
    topspin: float = 0.0
    sidespin: float = 0.0
    into: Region = COURT
    high: bool = False

    def flown(self, place: Place, elevation: ArrayLike, azimuth: ArrayLike, speed: ArrayLike | None = None) -> Flight:
        """The flights of this stroke at other angles (degrees), past the net."""
        pace = self.speed if speed is None else speed
        launch = launched(self.contact, pace, elevation, azimuth, topspin=self.topspin, sidespin=self.sidespin)
        return fly(launch, place.ball, place.density)


@dataclass(frozen=True, slots=True)
class Aim:
    """The angles of a stroke, degrees: above the horizon, and from straight ahead, positive to the own right."""

    elevation: float
    azimuth: float


def aimed(shot: Shot, place: Place) -> Aim:
    """The angles at which a ball that is struck as meant lands on the target, to a millimetre.

    Of two elevations the lower, or the higher for a `high` shot. Raises OutOfReachError where the ball falls short
    at any.
    """
    dx, dy = shot.target[0] - shot.contact[0], shot.target[1] - shot.contact[1]
    wanted, bearing = float(np.hypot(dx, dy)), float(np.degrees(np.arctan2(dx, dy)))
    carry = _carry(replace(shot, contact=(0.0, 0.0, shot.contact[2]), target=(0.0, 0.0), into=COURT), place)
    if not carry.shortest <= wanted <= carry.longest:
        raise OutOfReachError(carry.shortest, carry.longest)
    elevation = float(brentq(lambda angle: carry.reached(angle) - wanted, carry.least, carry.most, xtol=1e-9))
    return Aim(elevation, bearing - float(carry.turned(elevation)))


@dataclass(frozen=True, slots=True)
class _Carry:
    """How far a stroke gets at each elevation (m), and how much sidespin turns its way (degrees).

    Between `least` and `most` degrees the way grows all along, or shrinks all along for a high stroke.
    """

    reached: CubicSpline
    turned: CubicSpline
    least: float
    most: float
    shortest: float
    longest: float


@lru_cache(maxsize=256)
def _carry(shot: Shot, place: Place) -> _Carry:
    """A fan of flights. Neither the target nor where the contact lies over the ground matters: many shots share it."""
    fan = np.linspace(*(HIGH if shot.high else LOW), FAN)
    x, y, _ = shot.flown(place, fan, 0.0).landing
    way = np.hypot(x, y)
    reached, turned = CubicSpline(fan, way), CubicSpline(fan, np.degrees(np.arctan2(x, y)))
    top = int(way.argmax())
    least, most = (fan[top], fan[-1]) if shot.high else (fan[0], fan[top])
    ends = float(reached(least)), float(reached(most))
    return _Carry(reached, turned, float(least), float(most), min(ends), max(ends))
