"""Compute how risky a shot or serve is, where to aim instead, and what a player's spread is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Annotated, Final

import numpy as np
from scipy.special import xlogy

from tacticapi.court.flight import Floats, net_height
from tacticapi.court.shot import Aim, Outcome, Place, Shot, Spot, Spread, Window, aimed

MIN_SPREAD, MAX_SPREAD = 0.2, 12.0  # degrees; the range searched
TRIED: Final = 61  # a step is 7 %, far less than counts can resolve
WITHIN: Final = 1.642  # 80 % point of chi-squared with one degree of freedom
MIN_CHANCE: Final = 1e-12
MIN_PASSING: Final = 0.01  # share of the balls, below which no landing area is returned


@dataclass(frozen=True, slots=True)
class Ellipse:
    """The area where the middle two thirds of balls over the net land: centre, half axes (m), rotation (degrees)."""

    centre: Spot
    across: float
    along: float
    turned: float


@dataclass(frozen=True, slots=True)
class FlightPath:
    """The path of an accurate ball, metres: over the net, from contact to target, and to where it leaves the court.

    `turn`: degrees away from the direction that the ball came from.
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
    """The chances of a shot by outcome, where its balls land, and its intended path."""

    chances: Mapping[Outcome, float]
    landing: Ellipse | None
    way: FlightPath


@dataclass(frozen=True, slots=True)
class BestAim:
    """A spot to aim at (m), its distances from the lines, the chance of in, and the mean depth of those in, 0 to 1."""

    spot: Spot
    from_side: float
    from_back: float
    chance: float
    depth: float


def shot_margin(shot: Shot, place: Place, spread: Spread, came_from: Spot) -> Margin:
    """Return the margin of a shot that answers a ball from `came_from`. Raises OutOfReachError."""
    aim, window = _window(shot, place, spread)
    chances = {outcome: window.chance_at(aim, outcome, spread) for outcome in Outcome}
    return Margin(chances, _ellipse(window, aim, spread), _way(shot, place, aim, came_from))


@lru_cache(maxsize=4)
def _window(shot: Shot, place: Place, spread: Spread) -> tuple[Aim, Window]:
    aim = aimed(shot, place)
    return aim, Window.of(shot, place, aim, spread)


def best_aims(shot: Shot, place: Place, spread: Spread, depth_weight: float) -> tuple[BestAim, BestAim]:
    """Return the aim with the largest chance of in, and that with the best mean of in and depth by `depth_weight`."""
    _, window = _window(shot, place, spread)
    inside = (window.codes == Outcome.IN).astype(float)
    sure = window.blurred(inside, spread)
    deep = window.blurred(inside * np.clip(window.y / shot.into.back, 0.0, 1.0), spread)
    two_sided = shot.into.left < 0 < shot.into.right  # a service box has one side only
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
    """Return the same shot to the other side, at the same distance from the lines."""
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
    to_side = ((shot.into.right if across > 0 else shot.into.left) - start[0]) / across if across else np.inf
    room = float(min(to_back, to_side) if to_side > 0 else to_back)
    turn = np.degrees(np.arctan2(*going) - np.arctan2(*back))
    turn = float(abs((turn + 180) % 360 - 180))
    return FlightPath(aim, top, over, length, room, float(flight.time[0]), turn)


def _ellipse(window: Window, aim: Aim, spread: Spread) -> Ellipse | None:
    """Return the ellipse of two thirds of the balls over the net, None if nearly all hit the net."""
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
    high: Annotated[float | None, "Upper end of that interval; absent if the counts leave it open."]


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
    """Return the likeliest spread given these counts, with 80 % profile intervals. Raises ValueError without a ball."""
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
    """Return the likeliest spread of a profile and the ends where it has fallen by half of `WITHIN`."""
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
