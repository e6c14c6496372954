"""Compute the angles that send a shot to its target, how risky it is, where to aim instead, and a player's spread."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import lru_cache
from typing import Annotated, Final

import numpy as np
import scipy  # its submodules load on first use: advice seldom needs them
from numpy.typing import ArrayLike, NDArray
from scipy.special import xlogy

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
    """Raised if no elevation sends the ball to its target: it can only land `shortest` to `longest` metres away."""

    def __init__(self, shortest: float, longest: float) -> None:
        self.shortest, self.longest = shortest, longest
        super().__init__(f"the ball lands {shortest:.1f} to {longest:.1f} m away")


@dataclass(frozen=True, slots=True)
class Place:
    """The playing conditions: ball, air density (kg/m3), court surface, and whether singles sticks are used."""

    ball: Ball
    density: float
    surface: Surface
    sticks: bool = True


@dataclass(frozen=True, slots=True)
class Shot:
    """A stroke: contact (m), target on the ground (m), speed (m/s), spin (rpm), and the region that counts as in.

    Negative topspin is slice; positive sidespin bends to the striker's right; `high` chooses the higher of two paths.
    """

    contact: tuple[float, float, float]
    target: Spot
    speed: float
    topspin: float = 0.0
    sidespin: float = 0.0
    into: Region = COURT
    high: bool = False

    def flown(self, place: Place, elevation: ArrayLike, azimuth: ArrayLike, plane: float = 0.0) -> Flight:
        """Return this stroke's flights at other angles (degrees), past the net or the plane y = `plane` (m)."""
        launch = launched(self.contact, self.speed, elevation, azimuth, topspin=self.topspin, sidespin=self.sidespin)
        return fly(launch, place.ball, place.density, plane)


@dataclass(frozen=True, slots=True)
class Aim:
    """A stroke's angles (degrees): above the horizon, and away from straight ahead (positive to the right)."""

    elevation: float
    azimuth: float


def aimed(shot: Shot, place: Place) -> Aim:
    """Return the angles at which an accurate ball lands within a millimetre of the target. Raises OutOfReachError."""
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
    """A stroke's carry (m) and sidespin deflection (degrees) at each elevation, and the monotonic range."""

    reached: "scipy.interpolate.CubicSpline"
    turned: "scipy.interpolate.CubicSpline"
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
    """A ball's outcome."""

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
    """Return the outcome; net counts before long, long before wide. `over`: net clearance (m). The lines are in."""
    wide = (x < into.left - radius) | (x > into.right + radius)
    code = np.where(wide, Outcome.WIDE, Outcome.IN)
    code = np.where(y > into.back + radius, Outcome.LONG, code)
    return np.asarray(np.where(over < 0, Outcome.NET, code), dtype=np.int8)


@dataclass(frozen=True, slots=True)
class Window:
    """Outcomes by elevation (rows) and azimuth (columns), in degrees, with where each ball lands (m)."""

    elevations: Floats
    azimuths: Floats
    codes: Codes
    x: Floats
    y: Floats

    @classmethod
    def of(cls, shot: Shot, place: Place, aim: Aim, spread: Spread) -> "Window":
        """Return a stroke's window: all angles around its aim that reach the court, plus a margin of `ROOM` spreads."""
        up, way = _angles(shot, aim, spread)
        ups, ways = np.meshgrid(up, way, indexing="ij")
        flight = shot.flown(place, ups.ravel(), ways.ravel())
        over = flight.crossing[2] - net_height(np.nan_to_num(flight.crossing[0]), place.sticks) - place.ball.radius_m
        known = (np.nan_to_num(over, nan=-1.0), flight.landing[0], flight.landing[1])
        over, x, y = (_finer(table.reshape(ups.shape)) for table in known)
        codes = judged(over, x, y, shot.into, place.ball.radius_m)
        return cls(_finer_line(up), _finer_line(way), codes, x, y)

    def blurred(self, table: Floats, spread: Spread) -> Floats:
        """Return a table averaged over the player's spread, at every aim in the window."""
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
    """Return a table with `FINER` times as many rows and columns, by linear interpolation."""
    for _ in range(2):
        parts = np.linspace(0, table.shape[0] - 1, (table.shape[0] - 1) * FINER + 1)
        low = np.minimum(parts.astype(int), table.shape[0] - 2)
        part = (parts - low)[:, None]
        table = (table[low] * (1 - part) + table[low + 1] * part).T
    return table


MIN_SPREAD, MAX_SPREAD = 0.2, 12.0  # degrees; the range searched
TRIED: Final = 61  # a step is 7 %, far less than counts can resolve
WITHIN: Final = 1.642  # 80 % point of chi-squared with one degree of freedom
MIN_CHANCE: Final = 1e-12
MIN_PASSING: Final = 0.01  # share of the balls, below which no landing area is returned


@dataclass(frozen=True, slots=True)
class Ellipse:
    """The area in which two thirds of the balls over the net land: centre, half axes (m), rotation (degrees)."""

    centre: Spot
    across: float
    along: float
    turned: float


@dataclass(frozen=True, slots=True)
class FlightPath:
    """The path of an accurate ball (m): over the net, from contact to target, and to where it leaves the court.

    `turn`: how far the ball is turned from the direction it came from, in degrees.
    """

    aim: Aim
    net_height: float
    over_net: float
    length: float
    room: float
    time: float
    turn: float


@dataclass(frozen=True, slots=True)
class Margin:
    """A shot's chances by outcome, where its balls land, and its intended path."""

    chances: Mapping[Outcome, float]
    landing: Ellipse | None
    way: FlightPath


@dataclass(frozen=True, slots=True)
class BestAim:
    """A spot to aim at (m), its distances from the lines, the chance of landing in, and the mean depth (0 to 1)."""

    spot: Spot
    from_side: float
    from_back: float
    chance: float
    depth: float


def shot_margin(shot: Shot, place: Place, spread: Spread, came_from: Spot) -> Margin:
    """Return a shot's margin in reply to a ball from `came_from`. Raises OutOfReachError."""
    aim, window = _window(shot, place, spread)
    chances = {outcome: window.chance_at(aim, outcome, spread) for outcome in Outcome}
    return Margin(chances, _ellipse(window, aim, spread), _way(shot, place, aim, came_from))


@lru_cache(maxsize=4)
def _window(shot: Shot, place: Place, spread: Spread) -> tuple[Aim, Window]:
    aim = aimed(shot, place)
    return aim, Window.of(shot, place, aim, spread)


def best_aims(shot: Shot, place: Place, spread: Spread, depth_weight: float) -> tuple[BestAim, BestAim]:
    """Return the aim most likely to land in, and the aim with the best mix of landing in and depth (`depth_weight`)."""
    _, window = _window(shot, place, spread)
    inside = (window.codes == Outcome.IN).astype(float)
    sure = window.blurred(inside, spread)
    deep = window.blurred(inside * np.clip(window.y / shot.into.back, 0.0, 1.0), spread)
    two_sided = shot.into.left < 0 < shot.into.right  # a service box lies on one side only
    aside = window.x * np.sign(shot.target[0]) >= 0 if two_sided and shot.target[0] else True
    allowed = (window.codes == Outcome.IN) & aside
    found = []
    for weight in (0.0, depth_weight):
        at = int(np.where(allowed, (1 - weight) * sure + weight * deep, -1.0).argmax())
        x, y, chance, depth = (float(table.flat[at]) for table in (window.x, window.y, sure, deep))
        side = min(x - shot.into.left, shot.into.right - x)
        found.append(BestAim((x, y), side, shot.into.back - y, chance, depth / chance if chance else 0.0))
    return found[0], found[1]


def mirrored(shot: Shot) -> Shot:
    """Return the same shot to the other side, at the same distances from the lines."""
    return replace(shot, target=(-shot.target[0], shot.target[1]), sidespin=-shot.sidespin)


def _way(shot: Shot, place: Place, aim: Aim, came_from: Spot) -> FlightPath:
    flight = shot.flown(place, aim.elevation, aim.azimuth)
    x, z = float(flight.crossing[0, 0]), float(flight.crossing[2, 0])
    top = float(net_height(0.0 if np.isnan(x) else x, place.sticks))
    over = -top if np.isnan(z) else z - place.ball.radius_m - top
    start = np.array(shot.contact[:2])
    going, back = np.array(shot.target) - start, np.array(came_from) - start
    length = float(np.hypot(*going))
    across, forward = going / length
    to_back = (shot.into.back - start[1]) / forward
    straight = abs(across) < 1e-9  # so nearly straight that the way to a sideline may not be finite
    to_side = np.inf if straight else ((shot.into.right if across > 0 else shot.into.left) - start[0]) / across
    room = float(min(to_back, to_side) if to_side > 0 else to_back)
    turn = np.degrees(np.arctan2(*going) - np.arctan2(*back))
    turn = float(abs((turn + 180) % 360 - 180))
    return FlightPath(aim, top, over, length, room, float(flight.time[0]), turn)


def _ellipse(window: Window, aim: Aim, spread: Spread) -> Ellipse | None:
    """Return the ellipse that holds two thirds of the balls over the net; None if nearly all hit the net."""
    up, way = window.weights(aim, np.array([spread.vertical]), np.array([spread.sideways]))
    weights = np.where(window.codes == Outcome.NET, 0.0, up.T @ way)
    if weights.sum() < MIN_PASSING:
        return None
    landed = np.stack([window.x.ravel(), window.y.ravel()])
    size = np.sqrt(-2 * np.log(1 / 3))  # holds two thirds of a bivariate normal
    values, ways = np.linalg.eigh(np.cov(landed, aweights=weights.ravel()))
    across = int(np.abs(ways[0]).argmax())
    (x, y), half = ways[:, across], size * np.sqrt(np.maximum(values, 0.0))
    centre = np.average(landed, axis=1, weights=weights.ravel())
    turned = float(np.degrees(np.arctan(y / x)))
    return Ellipse((float(centre[0]), float(centre[1])), float(half[across]), float(half[1 - across]), turned)


@dataclass(frozen=True, slots=True)
class FittedAngle:
    """A spread in one direction, with its 80 % interval."""

    degrees: Annotated[float, "Standard deviation, degrees."]
    low: Annotated[float | None, "Lower end of the 80 % interval; absent if the counts leave it open."]
    high: Annotated[float | None, "Upper end of the 80 % interval; absent if the counts leave it open."]


@dataclass(frozen=True, slots=True)
class FittedSpread:
    """The likeliest spread and the number of balls behind it."""

    vertical: FittedAngle
    sideways: FittedAngle
    balls: float

    @property
    def spread(self) -> Spread:
        """Return the likeliest spread."""
        return Spread(self.vertical.degrees, self.sideways.degrees)


def fitted_spread(shot: Shot, place: Place, counts: Mapping[Outcome, float]) -> FittedSpread:
    """Return the likeliest spread given these counts, with 80 % profile intervals. Raises ValueError if none."""
    balls = float(sum(counts.values()))
    if balls <= 0:
        raise ValueError("no ball was counted")
    aim, tried = aimed(shot, place), np.geomspace(MIN_SPREAD, MAX_SPREAD, TRIED)
    window = Window.of(shot, place, aim, Spread(MAX_SPREAD / 2, MAX_SPREAD / 2))
    up, way = (weights.astype(np.float32) for weights in window.weights(aim, tried, tried))
    likelihood = np.zeros((TRIED, TRIED))
    for outcome, count in counts.items():
        chance = up @ (window.codes == outcome).astype(np.float32) @ way.T
        likelihood += xlogy(count, np.maximum(chance, MIN_CHANCE))
    return FittedSpread(_profiled(likelihood.max(axis=1), tried), _profiled(likelihood.max(axis=0), tried), balls)


def _profiled(profile: Floats, tried: Floats) -> FittedAngle:
    """Return a profile's likeliest spread and the ends at which the log-likelihood has fallen by half of `WITHIN`."""
    best, line = int(profile.argmax()), profile.max() - WITHIN / 2
    inside = np.flatnonzero(profile >= line)
    first, last = int(inside[0]), int(inside[-1])
    low = None if first == 0 else _met(profile, tried, first - 1, line)
    high = None if last == len(tried) - 1 else _met(profile, tried, last, line)
    return FittedAngle(float(tried[best]), low, high)


def _met(profile: Floats, tried: Floats, place: int, line: float) -> float:
    one, two = profile[place], profile[place + 1]
    part = (line - one) / (two - one) if two != one else 0.0
    return float(np.exp(np.log(tried[place]) * (1 - part) + np.log(tried[place + 1]) * part))
