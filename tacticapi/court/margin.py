"""How risky a shot is: the chance of in, net, long and wide, where to aim instead, and across against the line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from tacticapi.court.dimensions import Floats, net_height
from tacticapi.court.shot import Aim, Place, Shot, Spot, aimed
from tacticapi.court.window import Outcome, Spread, Window, outcomes


@dataclass(frozen=True, slots=True)
class Ellipse:
    """Where the middle two thirds of the balls that pass the net land: centre, half axes (m), turned by degrees.

    The first half axis lies across the court before it is turned against the clock.
    """

    centre: Spot
    across: float
    along: float
    turned: float


@dataclass(frozen=True, slots=True)
class Way:
    """A ball that is struck as meant: its way over the net and through the air.

    net_height: of the net where it passes (m); over_net: from the net's top to the bottom of the ball (m), negative
    where it meets the net; length: from the contact to the target over the ground (m); room: from the contact to the
    line that the way leaves the court by (m); time: until it lands (s); turn: degrees away from where the ball came.
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
    """The chances of a shot by outcome, from so many draws, with their largest standard error; the way as meant."""

    chances: Mapping[Outcome, float]
    error: float
    draws: int
    landing: Ellipse | None
    way: Way


@dataclass(frozen=True, slots=True)
class BestAim:
    """A spot to aim at (m), how far from the nearest sideline and from the back line, and what it brings.

    chance: of in. depth: mean depth of the balls that are in, as a share of the way from the net to the back line.
    """

    spot: Spot
    from_side: float
    from_back: float
    chance: float
    depth: float


def shot_margin(shot: Shot, place: Place, spread: Spread, scatter: Floats, came_from: Spot) -> Margin:
    """What becomes of the shot, ball by ball.

    `scatter` holds standard normal draws, shape (2, draws); two shots compared use the same ones. `came_from` is where
    the ball was struck that is answered. Raises OutOfReachError where the ball cannot get to its target.
    """
    meant = aimed(shot, place)
    flight = shot.flown(
        place, meant.elevation + spread.vertical * scatter[0], meant.azimuth + spread.sideways * scatter[1]
    )
    codes = outcomes(flight, shot.into, place)
    draws = scatter.shape[1]
    chances = {outcome: float(np.mean(codes == outcome)) for outcome in Outcome}
    error = max(float(np.sqrt(chance * (1 - chance) / draws)) for chance in chances.values())
    landed = flight.landing[:2, codes != Outcome.NET]
    return Margin(chances, error, draws, _ellipse(landed), _way(shot, place, meant, came_from))


def scattered(draws: int, seed: int) -> Floats:
    """Standard normal draws, shape (2, draws), the same for the same seed."""
    return np.random.default_rng(seed).standard_normal((2, draws))


def best_aims(shot: Shot, place: Place, spread: Spread, depth_weight: float) -> tuple[BestAim, BestAim]:
    """The aim with the largest chance of in, and the one best at a blend of in and depth, on the target's side.

    The blend is (1 - depth_weight) x chance of in + depth_weight x the mean over all balls of their depth if in, else
    0; weight and depth are shares from 0 to 1.
    """
    window = Window.of(shot, place, aimed(shot, place), spread)
    inside = (window.codes == Outcome.IN).astype(float)
    sure = window.blurred(inside, spread)
    deep = window.blurred(inside * np.clip(window.y / shot.into.back, 0.0, 1.0), spread)
    aside = window.x * np.sign(shot.target[0] - _middle(shot)) >= 0 if _one_sided(shot) else True
    allowed = (window.codes == Outcome.IN) & aside
    found = []
    for weight in (0.0, depth_weight):
        worth = np.where(allowed, (1 - weight) * sure + weight * deep, -1.0)
        at = np.unravel_index(int(worth.argmax()), worth.shape)
        found.append(_best(shot, float(window.x[at]), float(window.y[at]), float(sure[at]), float(deep[at])))
    return found[0], found[1]


def mirrored(shot: Shot) -> Shot:
    """The same ball to the other side, as far from the lines."""
    return replace(shot, target=(-shot.target[0], shot.target[1]), sidespin=-shot.sidespin)


def _one_sided(shot: Shot) -> bool:
    """Whether the target lies on one side of a court that has two; a service box has one."""
    return shot.into.left < 0 < shot.into.right and shot.target[0] != 0


def _middle(shot: Shot) -> float:
    return (shot.into.left + shot.into.right) / 2


def _best(shot: Shot, x: float, y: float, sure: float, deep: float) -> BestAim:
    side = min(x - shot.into.left, shot.into.right - x)
    return BestAim((x, y), side, shot.into.back - y, sure, deep / sure if sure else 0.0)


def _way(shot: Shot, place: Place, aim: Aim, came_from: Spot) -> Way:
    flight = shot.flown(place, aim.elevation, aim.azimuth)
    x, z = float(flight.crossing[0, 0]), float(flight.crossing[2, 0])
    top = float(net_height(0.0 if np.isnan(x) else x, place.sticks))
    over = -top if np.isnan(z) else z - place.ball.radius_m - top
    start = np.array(shot.contact[:2])
    going, back = np.array(shot.target) - start, np.array(came_from) - start
    length = float(np.hypot(*going))
    return Way(aim, top, over, length, _room(shot, going / length), float(flight.time[0]), _angle(going, back))


def _room(shot: Shot, going: Floats) -> float:
    """From the contact along the ground to the line by which the way leaves the court."""
    (x, y, _), into = shot.contact, shot.into
    back = (into.back - y) / going[1]
    side = ((into.right if going[0] > 0 else into.left) - x) / going[0] if going[0] else np.inf
    return float(min(back, side) if side > 0 else back)


def _angle(one: Floats, two: Floats) -> float:
    turn = np.degrees(np.arctan2(one[0], one[1]) - np.arctan2(two[0], two[1]))
    return float(abs((turn + 180) % 360 - 180))


def _ellipse(landed: Floats) -> Ellipse | None:
    """The ellipse of two thirds of these spots (2, k), None for fewer than three of them."""
    if landed.shape[1] < 3:
        return None
    size = np.sqrt(-2 * np.log(1 / 3))  # holds two thirds of a bivariate normal
    values, ways = np.linalg.eigh(np.cov(landed))
    across = int(np.abs(ways[0]).argmax())
    (x, y), half = ways[:, across], size * np.sqrt(np.maximum(values, 0.0))
    centre = landed.mean(axis=1)
    turned = float(np.degrees(np.arctan(y / x)))
    return Ellipse((float(centre[0]), float(centre[1])), float(half[across]), float(half[1 - across]), turned)
