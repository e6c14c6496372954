"""Compute the angles that bring a shot to its target, and the outcome of the ball at all other angles."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum
from functools import lru_cache
from typing import Final

import numpy as np
import scipy  # its submodules load on first use: advice seldom needs them
from numpy.typing import ArrayLike, NDArray

from tacticapi.court.flight import COURT, Ball, Flight, Floats, Region, Surface, fly, launched, net_height

LOW, HIGH = (-60.0, 50.0), (25.0, 80.0)  # degrees above the horizon, around those that carry furthest
FAN: Final = 221

Spot = tuple[float, float]
Codes = NDArray[np.int8]
FLOWN: Final = (81, 41)  # how many elevations and azimuths are simulated; the rest is interpolated
FINER: Final = 5
ROOM: Final = 4.0  # margin around the angles aimed at, in spreads
AIMS: Final = 10.0  # degrees of elevation on either side of the aim in which the best aim is sought
REACH: Final = 5.0  # spreads from the aim beyond which no ball goes


class OutOfReachError(ValueError):
    """Raised if no elevation brings the ball to its target: it lands from `shortest` to `longest` metres away."""

    def __init__(self, shortest: float, longest: float) -> None:
        self.shortest, self.longest = shortest, longest
        super().__init__(f"the ball lands {shortest:.1f} to {longest:.1f} m away")


@dataclass(frozen=True, slots=True)
class Place:
    """The conditions of play: ball, air density (kg/m3), court surface, and whether singles sticks hold the net up."""

    ball: Ball
    density: float
    surface: Surface
    sticks: bool = True


@dataclass(frozen=True, slots=True)
class Shot:
    """A stroke: contact (m), target on the ground (m), speed (m/s), spins (rpm), and the region that is in.

    Negative topspin is slice; positive sidespin bends to the striker's right; `high` takes the higher of two paths.
    """

    contact: tuple[float, float, float]
    target: Spot
    speed: float
    topspin: float = 0.0
    sidespin: float = 0.0
    into: Region = COURT
    high: bool = False

    def flown(self, place: Place, elevation: ArrayLike, azimuth: ArrayLike, plane: float = 0.0) -> Flight:
        """Return the flights of this stroke at other angles (degrees), past the net or the plane y = `plane` (m)."""
        launch = launched(self.contact, self.speed, elevation, azimuth, topspin=self.topspin, sidespin=self.sidespin)
        return fly(launch, place.ball, place.density, plane)


@dataclass(frozen=True, slots=True)
class Aim:
    """The angles of a stroke, degrees: above the horizon, and from straight ahead, positive to the striker's right."""

    elevation: float
    azimuth: float


def aimed(shot: Shot, place: Place) -> Aim:
    """Return the angles at which an accurate ball lands on the target, to a millimetre. Raises OutOfReachError."""
    dx, dy = shot.target[0] - shot.contact[0], shot.target[1] - shot.contact[1]
    wanted, bearing = float(np.hypot(dx, dy)), float(np.degrees(np.arctan2(dx, dy)))
    carry = _carry(replace(shot, contact=(0.0, 0.0, shot.contact[2]), target=(0.0, 0.0), into=COURT), place)
    if not carry.shortest <= wanted <= carry.longest:
        raise OutOfReachError(carry.shortest, carry.longest)
    ends = carry.lowest, carry.highest
    elevation = float(scipy.optimize.brentq(lambda angle: carry.reached(angle) - wanted, *ends, xtol=1e-9))
    return Aim(elevation, bearing - float(carry.turned(elevation)))


@dataclass(frozen=True, slots=True)
class _Carry:
    """The carry of a stroke (m) and its turn by sidespin (degrees) at each elevation, and the monotonic range."""

    reached: scipy.interpolate.CubicSpline
    turned: scipy.interpolate.CubicSpline
    lowest: float
    highest: float
    shortest: float
    longest: float


@lru_cache(maxsize=256)
def _carry(shot: Shot, place: Place) -> _Carry:
    """Return the carry from a fan of flights. It depends neither on the target nor on the ground below the contact."""
    fan = np.linspace(*(HIGH if shot.high else LOW), FAN)
    x, y, _ = shot.flown(place, fan, 0.0).landing
    way = np.hypot(x, y)
    reached, turned = (scipy.interpolate.CubicSpline(fan, of) for of in (way, np.degrees(np.arctan2(x, y))))
    top = int(way.argmax())
    low, high = (fan[top], fan[-1]) if shot.high else (fan[0], fan[top])
    ends = float(reached(low)), float(reached(high))
    return _Carry(reached, turned, float(low), float(high), min(ends), max(ends))


class Outcome(IntEnum):
    """The outcome of a ball."""

    IN = 0
    NET = 1
    LONG = 2
    WIDE = 3


@dataclass(frozen=True, slots=True)
class Spread:
    """The scatter of a player's balls around the aim: standard deviations in degrees, vertical and sideways."""

    vertical: float
    sideways: float


def judged(over: Floats, x: Floats, y: Floats, into: Region, radius: float) -> Codes:
    """Return the outcome: net before long before wide. `over`: the ball's bottom above the net (m); on a line is in."""
    wide = (x < into.left - radius) | (x > into.right + radius)
    code = np.where(wide, Outcome.WIDE, Outcome.IN)
    code = np.where(y > into.back + radius, Outcome.LONG, code)
    return np.asarray(np.where(over < 0, Outcome.NET, code), dtype=np.int8)


@dataclass(frozen=True, slots=True)
class Window:
    """Outcomes by elevation (rows) and azimuth (columns), degrees, with where each ball lands (m)."""

    elevations: Floats
    azimuths: Floats
    codes: Codes
    x: Floats
    y: Floats

    @classmethod
    def of(cls, shot: Shot, place: Place, aim: Aim, spread: Spread) -> Window:
        """Return the window of a stroke: all angles around its aim that reach the court, and `ROOM` spreads more."""
        up, way = _angles(shot, aim, spread)
        ups, ways = np.meshgrid(up, way, indexing="ij")
        flight = shot.flown(place, ups.ravel(), ways.ravel())
        over = flight.crossing[2] - net_height(np.nan_to_num(flight.crossing[0]), place.sticks) - place.ball.radius_m
        known = (np.nan_to_num(over, nan=-1.0), flight.landing[0], flight.landing[1])
        over, x, y = (_finer(table.reshape(ups.shape)) for table in known)
        codes = judged(over, x, y, shot.into, place.ball.radius_m)
        return cls(_finer_line(up), _finer_line(way), codes, x, y)

    def blurred(self, table: Floats, spread: Spread) -> Floats:
        """Return the mean of a table over the player's spread, at every aim of the window."""
        sigma = [spread.vertical / np.diff(self.elevations)[0], spread.sideways / np.diff(self.azimuths)[0]]
        means = scipy.ndimage.gaussian_filter(table, sigma, mode="nearest", truncate=REACH)
        return np.asarray(np.clip(means, table.min(), table.max()))  # against rounding errors

    def chance_at(self, aim: Aim, outcome: Outcome, spread: Spread) -> float:
        """Return the chance (0 to 1) of an outcome at one aim."""
        up, way = self.weights(aim, np.array([spread.vertical]), np.array([spread.sideways]))
        return min(float((up @ (self.codes == outcome) @ way.T)[0, 0]), 1.0)  # the weights sum to 1 up to rounding

    def weights(self, aim: Aim, vertical: Floats, sideways: Floats) -> tuple[Floats, Floats]:
        """Return the weight of each row and column at an aim, for each given spread: (k, rows) and (k, columns)."""
        return _weights(self.elevations, aim.elevation, vertical), _weights(self.azimuths, aim.azimuth, sideways)


def _angles(shot: Shot, aim: Aim, spread: Spread) -> tuple[Floats, Floats]:
    (x, y, _), into = shot.contact, shot.into
    up, way = AIMS + ROOM * spread.vertical, ROOM * spread.sideways
    edges = [np.degrees(np.arctan2(side - x, into.back - y)) for side in (into.left, into.right)]
    edges += [np.degrees(np.arctan2(side - x, max(into.back / 2 - y, 1.0))) for side in (into.left, into.right)]
    turn = aim.azimuth - np.degrees(np.arctan2(shot.target[0] - x, shot.target[1] - y))
    elevations = np.linspace(aim.elevation - up, aim.elevation + up, FLOWN[0])
    return elevations, np.linspace(min(edges) + turn - way, max(edges) + turn + way, FLOWN[1])


def _weights(angles: Floats, middle: float, spreads: Floats) -> Floats:
    bells = np.exp(-0.5 * ((angles - middle) / spreads[:, None]) ** 2)
    return np.asarray(bells / bells.sum(axis=1, keepdims=True))


def _finer_line(values: Floats) -> Floats:
    return np.linspace(values[0], values[-1], (values.size - 1) * FINER + 1)


def _finer(table: Floats) -> Floats:
    """Return a table with `FINER` times the rows and columns, linearly interpolated between those simulated."""
    for _ in range(2):
        parts = np.linspace(0, table.shape[0] - 1, (table.shape[0] - 1) * FINER + 1)
        low = np.minimum(parts.astype(int), table.shape[0] - 2)
        part = (parts - low)[:, None]
        table = (table[low] * (1 - part) + table[low + 1] * part).T
    return table
