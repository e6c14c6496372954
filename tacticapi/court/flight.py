"""Simulate the flight and bounce of thousands of balls at once.

The flight model has gravity, drag, and lift from spin; the lift coefficient is 1 / (2 + v / (R w)), where w is the spin
component across the flight (Stepanek 1988, American Journal of Physics 56:138, from memory). Spin is constant and the
air still. During a bounce, a rigid ball slides unless friction makes it roll; a real ball leaves a little faster.
"""

from dataclasses import dataclass
from math import pi
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tacticapi.domain.court import (
    BASELINE_M,
    DOUBLES_POST_M,
    NET_CENTRE_HEIGHT_M,
    NET_POST_HEIGHT_M,
    SERVICE_LINE_M,
    SIDELINE_M,
    STICK_M,
)

Floats = NDArray[np.float64]
GRAVITY: Final = 9.81  # m/s2
STEP: Final = 0.06  # s; Runge-Kutta of order 4 then stays within 0.1 mm of the exact path
MAX_FLIGHT_S: Final = 12.0  # s; no rally ball stays in the air longer
RPM: Final = 2 * np.pi / 60
_ROOT_STEPS: Final = 5


@dataclass(frozen=True, slots=True)
class Region:
    """A part of the opponent's side, from `left` to `right` (x) and from the net to `back` (y), in metres."""

    left: float
    right: float
    back: float


COURT: Final = Region(-SIDELINE_M, SIDELINE_M, BASELINE_M)
# boxes as the server faces them: the deuce court is served into from the right, so it lies to the left
BOXES: Final = {"deuce": Region(-SIDELINE_M, 0.0, SERVICE_LINE_M), "ad": Region(0.0, SIDELINE_M, SERVICE_LINE_M)}


def net_height(x: ArrayLike, sticks: bool = True) -> Floats:
    """Return the net height (m) at x, with singles `sticks` or as a doubles net; constant beyond the post.

    ITF Rules of Tennis, Rules 1 and 2; the straight line is our simplification: a real cord sags a little below it.
    """
    post = STICK_M if sticks else DOUBLES_POST_M
    rise = np.minimum(np.abs(np.asarray(x, dtype=float)) / post, 1.0)
    return np.asarray(NET_CENTRE_HEIGHT_M + (NET_POST_HEIGHT_M - NET_CENTRE_HEIGHT_M) * rise)


@dataclass(frozen=True, slots=True)
class Ball:
    """A ball: mass (kg), diameter (m), drag coefficient, and moment of inertia as a share of mass x radius squared."""

    mass_kg: float
    diameter_m: float
    drag: float
    inertia: float

    @property
    def radius_m(self) -> float:
        """Return half the diameter, which is the height of the ball's centre when it touches the ground."""
        return self.diameter_m / 2

    def air_factor(self, density: float) -> float:
        """Return the acceleration per unit coefficient (1/m, times speed squared) at this air density (kg/m3)."""
        return density * pi * self.radius_m**2 / (2 * self.mass_kg)


def air_density(temperature_c: float, altitude_m: float) -> float:
    """Return the density of dry air (kg/m3) at -40 to 60 °C and 0 to 5000 m; pressure from ISO 2533 (from memory)."""
    pressure = 101325.0 * (1 - 2.25577e-5 * altitude_m) ** 5.25588
    return float(pressure / (287.053 * (temperature_c + 273.15)))


@dataclass(frozen=True, slots=True)
class Launch:
    """Balls leaving the racket or the ground: position (m), velocity (m/s) and spin (rad/s), each of shape (3, n)."""

    position: Floats
    velocity: Floats
    spin: Floats


@dataclass(frozen=True, slots=True)
class Flight:
    """The flights of n balls: where, when and how fast they land, and where they first pass a plane; NaN if never."""

    landing: Floats
    velocity: Floats
    time: Floats
    crossing: Floats
    crossing_time: Floats
    spin: Floats


def launched(
    contact: tuple[float, float, float],
    speed: ArrayLike,
    elevation: ArrayLike,
    azimuth: ArrayLike,
    *,
    topspin: ArrayLike = 0.0,
    sidespin: ArrayLike = 0.0,
) -> Launch:
    """Return balls struck at a point (m): speed in m/s, spins in rpm, elevation and azimuth (+y to +x) in degrees.

    Negative topspin is slice; positive sidespin bends the ball to its own right.
    """
    given = (speed, elevation, azimuth, topspin, sidespin)
    v, up, way, top, side = np.broadcast_arrays(*(np.atleast_1d(np.asarray(one, dtype=float)) for one in given))
    up, way = np.radians(up), np.radians(way)
    sin, cos = np.sin(way), np.cos(way)
    position = np.repeat(np.asarray(contact, dtype=float)[:, None], v.size, axis=1)
    velocity = v * np.array([np.cos(up) * sin, np.cos(up) * cos, np.sin(up)])
    spin = -RPM * np.array([top * cos, -top * sin, side])
    return Launch(position, velocity, spin)


def fly(launch: Launch, ball: Ball, density: float, plane: float = 0.0) -> Flight:
    """Fly balls through air of this density (kg/m3) to the court; note where they meet the plane y = `plane` (m)."""
    count = launch.position.shape[1]
    passed, landed = (np.full((7, count), np.nan) for _ in range(2))  # times above states
    state, spin = np.concatenate([launch.position, launch.velocity]), launch.spin
    flying, clock = np.arange(count), 0.0
    while flying.size and clock < MAX_FLIGHT_S:
        after = _stepped(state, spin, ball, density)
        down = _crossed(state, after, 2, ball.radius_m, falling=True)
        met = _crossed(state, after, 1, plane)
        until = np.ones(flying.size)
        until[down.balls] = down.part
        first = np.isnan(passed[0, flying[met.balls]]) & (met.part <= until[met.balls])  # and not after landing
        for noted, event, chosen in ((passed, met, first), (landed, down, slice(None))):
            balls = flying[event.balls[chosen]]
            noted[0, balls] = clock + STEP * event.part[chosen]
            noted[1:, balls] = event.state[:, chosen]
        clock, state = clock + STEP, after
        if down.balls.size:
            keep = np.ones(flying.size, dtype=bool)
            keep[down.balls] = False
            flying, state, spin = flying[keep], state[:, keep], spin[:, keep]
    return Flight(landed[1:4], landed[4:], landed[0], passed[1:4], passed[0], launch.spin)


@dataclass(frozen=True, slots=True)
class _Event:
    """The balls in the air that pass a level during a step, when in the step (0 to 1), and their state at that time."""

    balls: NDArray[np.intp]
    part: Floats
    state: Floats


def _stepped(state: Floats, spin: Floats, ball: Ball, density: float) -> Floats:
    """Return the state (position over velocity, (6, n)) one step later, by classical Runge-Kutta."""
    factor, radius, spins = ball.air_factor(density), ball.radius_m, spin.any()

    def slope(state: Floats) -> Floats:
        found = np.empty_like(state)
        v = found[:3] = state[3:]
        speed = np.sqrt(np.einsum("ij,ij->j", v, v))
        found[3:] = -factor * ball.drag * speed * v
        found[5] -= GRAVITY
        if spins:
            (wx, wy, wz), (x, y, z) = spin, v
            across = np.array([wy * z - wz * y, wz * x - wx * z, wx * y - wy * x])
            surface = radius * np.sqrt(np.einsum("ij,ij->j", across, across)) / speed
            found[3:] += factor * radius * speed / (2 * surface + speed) * across
        return found

    a = slope(state)
    b = slope(state + STEP / 2 * a)
    c = slope(state + STEP / 2 * b)
    d = slope(state + STEP * c)
    return np.asarray(state + STEP / 6 * (a + 2 * (b + c) + d))


def _crossed(before: Floats, after: Floats, axis: int, level: float, falling: bool = False) -> _Event:
    """Return the balls that pass a level of one axis between two states, one step apart."""
    start, end = before[axis] - level, after[axis] - level
    passes = (end <= 0) & (after[axis + 3] < 0) & (start > 0) if falling else (start < 0) != (end < 0)
    found = np.flatnonzero(passes)
    one, two = before[:, found], after[:, found]
    start, end = start[found], end[found]
    part = np.clip(start / np.where(start == end, 1.0, start - end), 0.0, 1.0)
    for _ in range(_ROOT_STEPS):
        here = _between(one, two, part)
        part = np.clip(part - (here[axis] - level) / (STEP * here[axis + 3]), 0.0, 1.0)
    return _Event(found, part, _between(one, two, part))


def _between(one: Floats, two: Floats, part: Floats) -> Floats:
    s, d = part, STEP
    x, v = one[:3], one[3:]
    y, w = two[:3], two[3:]
    place = (1 + 2 * s) * (1 - s) ** 2 * x + s * (1 - s) ** 2 * d * v + s**2 * (3 - 2 * s) * y - s**2 * (1 - s) * d * w
    speed = 6 * s * (1 - s) * (y - x) / d + (1 - s) * (1 - 3 * s) * v - s * (2 - 3 * s) * w
    return np.concatenate([place, speed])


@dataclass(frozen=True, slots=True)
class Surface:
    """A court surface: its friction, and the share of the vertical speed that a ball keeps (both 0 to 1)."""

    friction: float
    restitution: float


def bounced(flight: Flight, surface: Surface, ball: Ball) -> Launch:
    """Return the balls as they leave the ground; NaN for a ball that never came down."""
    (vx, vy, vz), (wx, wy, wz) = flight.velocity, flight.spin
    radius = ball.radius_m
    slip = np.array([vx - radius * wy, vy + radius * wx])  # speed of the ball's lowest point over the ground
    size = np.hypot(*slip)
    push = np.minimum(surface.friction * (1 + surface.restitution) * -vz, size / (1 + 1 / ball.inertia))
    change = -push * slip / np.where(size > 0, size, 1.0)
    spin = np.array([wx + change[1] / (ball.inertia * radius), wy - change[0] / (ball.inertia * radius), wz])
    velocity = np.array([vx + change[0], vy + change[1], -surface.restitution * vz])
    return Launch(flight.landing, velocity, spin)
