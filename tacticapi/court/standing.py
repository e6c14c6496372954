"""Compute where to stand, how far a player can get, which gap is big enough, and which pattern opens it: our own model.

Patterns are played ball by ball: the opponent replies and runs back to the middle; an opponent who is late replies
short.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from math import atan2, copysign, degrees, dist, sqrt, tan
from typing import Any, Final

import numpy as np

from tacticapi.court.flight import Ball, Surface, bounced, fly
from tacticapi.court.shot import OutOfReachError, Place, Shot, Spot, Spread, aimed
from tacticapi.domain.court import BASELINE_M, SERVICE_LINE_M, SIDELINE_M

Table = Mapping[str, Any]
"""The court and ball numbers, as in rules/court.yaml."""
MAX_BALLS: Final = 8  # how many balls ahead a pattern is played
STRONG, OPEN, SHORT_STRONG, MIDDLE = "strong", "open", "short-strong", "middle"


@dataclass(frozen=True, slots=True)
class Mover:
    """A player: reaction (s), acceleration (m/s2), top speed (m/s), and reach with the racket (m)."""

    reaction: float
    acceleration: float
    top_speed: float
    reach: float

    def covered(self, time: float, speed: float = 0.0) -> float:
        """Return how far away (m) a ball can be reached in this time (s) from this speed (m/s, negative: away)."""
        left = time - self.reaction
        if left < 0:
            return 0.0
        away = max(-speed, 0.0)
        stopping = away / self.acceleration
        lost = away * stopping / 2
        return max(self.reach + speed * self.reaction - lost + self.run(left - stopping, max(speed, 0.0)), 0.0)

    def run(self, seconds: float, speed: float = 0.0) -> float:
        """Return how far (m) a player runs in this time (s), starting at this speed (m/s)."""
        running, starting = max(seconds, 0.0), max(self.top_speed - speed, 0.0) / self.acceleration
        if running <= starting:
            return speed * running + self.acceleration * running**2 / 2
        return self.top_speed * running - (self.top_speed - speed) * starting / 2

    def reach_time(self, distance: float) -> float:
        """Return the seconds from the other player's hit until they can strike a ball this far away (m)."""
        way = max(distance - self.reach, 0.0)
        starting = self.top_speed**2 / (2 * self.acceleration)
        if way <= starting:
            return self.reaction + sqrt(2 * way / self.acceleration)
        return self.reaction + self.top_speed / self.acceleration + (way - starting) / self.top_speed


@dataclass(frozen=True, slots=True)
class Angles:
    """Where an opponent's widest balls land (m, on your side): `line` down the line, `cross` on the other side."""

    line: Spot
    cross: Spot


@dataclass(frozen=True, slots=True)
class Stand:
    """A place to stand (m), where the two widest balls pass that line (m), and the angle between them (degrees)."""

    spot: Spot
    line_x: float
    cross_x: float
    angle: float

    @property
    def to_line(self) -> float:
        """Return the distance to the widest ball down the line, in metres."""
        return abs(self.line_x - self.spot[0])

    @property
    def to_cross(self) -> float:
        """Return the distance to the widest cross-court ball, in metres."""
        return abs(self.cross_x - self.spot[0])


def widest(contact: Spot, line_deep: bool = False) -> Angles:
    """Return the widest balls from a contact beyond the net; with `line_deep`, the ball down the line lands deep."""
    side = -1.0 if contact[0] < 0 else 1.0
    depths = (SERVICE_LINE_M, BASELINE_M)
    corners = {s: [(s * SIDELINE_M, -depth) for depth in depths] for s in (side, -side)}
    line = corners[side][1] if line_deep else max(corners[side], key=lambda spot: side * _slope(contact, spot))
    return Angles(line, max(corners[-side], key=lambda spot: -side * _slope(contact, spot)))


def bisected(contact: Spot, angles: Angles, line: float) -> Stand:
    """Return the stand on the line y = `line` (m) that bisects the angle between the two widest balls."""
    one, other = (atan2(target[0] - contact[0], contact[1] - target[1]) for target in (angles.line, angles.cross))
    along = contact[1] - line
    x = contact[0] + along * tan((one + other) / 2)
    wide, sharp = (contact[0] + along * _slope(contact, target) for target in (angles.line, angles.cross))
    return Stand((x, line), wide, sharp, degrees(abs(one - other)))


def covering_line(stand: Stand, mover: Mover) -> Stand:
    """Return the stand on the same line from which the ball down the line can be reached without a step."""
    step = copysign(max(stand.to_line - mover.reach, 0.0), stand.line_x - stand.spot[0])
    return replace(stand, spot=(stand.spot[0] + step, stand.spot[1]))


def conceded(bisecting: Stand, covering: Stand, mover: Mover) -> tuple[float, float]:
    """Return what covering the line costs: the extra metres and seconds to the widest cross-court ball."""
    metres = covering.to_cross - bisecting.to_cross
    return metres, mover.reach_time(covering.to_cross) - mover.reach_time(bisecting.to_cross)


def _slope(contact: Spot, target: Spot) -> float:
    """Return how far the ball moves across the court per metre that it comes nearer."""
    return (target[0] - contact[0]) / (contact[1] - target[1])


@dataclass(frozen=True, slots=True)
class Arrival:
    """Where and when a player on a line can meet a ball before its second bounce: seconds, place and height (m)."""

    time: float
    spot: Spot
    height: float


@lru_cache(maxsize=256)
def arrival(shot: Shot, place: Place, line: float) -> Arrival:
    """Return where an accurate ball meets the line y = `line` (m), before or after its bounce. Raises OutOfReachError.

    The result is cached, because patterns repeat the same balls.
    """
    aim = aimed(shot, place)
    flight, before = shot.flown(place, aim.elevation, aim.azimuth, line), 0.0
    if np.isnan(flight.crossing_time[0]):
        before = float(flight.time[0])
        flight = fly(bounced(flight, place.surface, place.ball), place.ball, place.density, line)
    short = bool(np.isnan(flight.crossing_time[0]))
    time, met = (flight.time, flight.landing) if short else (flight.crossing_time, flight.crossing)
    return Arrival(before + float(time[0]), (float(met[0, 0]), float(met[1, 0])), float(met[2, 0]))


def turned(spot: Spot) -> Spot:
    """Return the spot in the other player's coordinates, facing the other way."""
    return -spot[0], -spot[1]


@dataclass(frozen=True, slots=True)
class Running:
    """An opponent when the ball is struck: their spot (m) and speed (m/s, positive to their right)."""

    spot: Spot
    speed: float = 0.0


@dataclass(frozen=True, slots=True)
class Gap:
    """A gap: how far the opponent can run in time, how far away the ball passes, and where they could meet it (m)."""

    needed: float
    open: float
    ball: Arrival

    @property
    def enough(self) -> bool:
        """Report whether the ball gets past the opponent."""
        return self.open > self.needed


def gap(shot: Shot, place: Place, opponent: Running, mover: Mover) -> Gap:
    """Return the gap that an accurate ball opens on the line where they stand. Raises OutOfReachError."""
    ball = arrival(shot, place, opponent.spot[1])
    towards = opponent.speed if ball.spot[0] > opponent.spot[0] else -opponent.speed
    return Gap(mover.covered(ball.time, towards), dist(opponent.spot, ball.spot), ball)


@dataclass(frozen=True, slots=True)
class Pattern:
    """A pattern: balls played in turn, and the ball that ends it (`then`; if empty, the next ball in turn)."""

    name: str
    title: str
    balls: tuple[str, ...]
    then: str


PATTERNS: Final = (
    Pattern("same-side", "Keep to the strong side, then the open side", (STRONG,), OPEN),
    Pattern("side-to-side", "One corner, then the other", (STRONG, OPEN), ""),
    Pattern("short-angle", "A short angle, then the other corner", (SHORT_STRONG,), OPEN),
    Pattern("middle-first", "Deep through the middle, then the open side", (MIDDLE,), OPEN),
    Pattern("behind", "The open side, then back behind them", (OPEN,), STRONG),
)


@dataclass(frozen=True, slots=True)
class Rally:
    """A pattern's setting; `strong` is +1 if their strong side is on your right, `margin` the metres inside the lines.

    `recovery`: speed back to the middle (m/s). With less than `late` seconds to spare, a reply lands `closer` metres
    short.
    """

    shot: Shot
    place: Place
    mover: Mover
    opponent: Spot
    strong: int
    margin: float
    reply_time: float
    recovery: float
    late: float
    closer: float

    def target(self, name: str) -> Spot:
        """Return a ball's target in a pattern (m)."""
        side = {STRONG: self.strong, SHORT_STRONG: self.strong, MIDDLE: 0}.get(name, -self.strong)
        deep = SERVICE_LINE_M - self.margin if name == SHORT_STRONG else BASELINE_M - self.margin
        return side * (SIDELINE_M - self.margin), deep


@dataclass(frozen=True, slots=True)
class Opening:
    """The ball with which a pattern opens the court (None: not within `MAX_BALLS`), and the gap at that ball."""

    pattern: Pattern
    balls: int | None
    gap: Gap | None
    after_short: bool


def opening(pattern: Pattern, rally: Rally) -> Opening:
    """Play a pattern until a ball gets past the opponent."""
    state, short, best = Running(rally.opponent), False, None
    for ball in range(1, MAX_BALLS + 1):
        in_turn = pattern.balls[(ball - 1) % len(pattern.balls)]
        last = _gap(rally, state, short, pattern.then or in_turn)
        if last is not None and (best is None or last.open - last.needed > best.open - best.needed):
            best = last
        if last is not None and last.enough:
            return Opening(pattern, ball, last, short)
        played = _gap(rally, state, short, in_turn)
        if played is None:
            break
        if played.enough:
            return Opening(pattern, ball, played, short)
        short = played.ball.time - rally.mover.reach_time(played.open) < rally.late
        state = _after(rally, state, played)
    return Opening(pattern, None, best, False)


def openings(rally: Rally) -> tuple[Opening, ...]:
    """Return every pattern's opening, the quickest first."""
    found = (opening(pattern, rally) for pattern in PATTERNS)
    return tuple(sorted(found, key=lambda one: one.balls or MAX_BALLS + 1))


def _gap(rally: Rally, opponent: Running, short: bool, name: str) -> Gap | None:
    x, y, z = rally.shot.contact
    contact = (x, min(y + rally.closer, -1.0), z) if short else (x, y, z)
    shot = replace(rally.shot, contact=contact, target=rally.target(name))
    try:
        return gap(shot, rally.place, opponent, rally.mover)
    except OutOfReachError:
        return None


def _after(rally: Rally, before: Running, played: Gap) -> Running:
    """Return the opponent at our next ball: on their line, on the way back from their contact to the middle."""
    at = _towards(before.spot, played.ball.spot, max(played.open - rally.mover.reach, 0.0))[0], rally.opponent[1]
    seen = turned(rally.shot.contact[:2])
    home = turned(bisected(seen, widest(seen), -rally.opponent[1]).spot)
    way, run = dist(at, home), rally.recovery * rally.reply_time
    if run >= way:
        return Running(home)
    return Running(_towards(at, home, run), rally.recovery * (home[0] - at[0]) / way)


def _towards(start: Spot, end: Spot, metres: float) -> Spot:
    part = metres / (dist(start, end) or 1.0)
    return start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part


def ball_of(court: Table) -> Ball:
    """Build the ball from the court numbers."""
    return Ball(*(float(court["ball"][name]["value"]) for name in ("mass_kg", "diameter_m", "drag", "inertia")))


def surface_of(court: Table, name: str | None = None) -> Surface:
    """Return the surface with this pace; by default, the usual surface."""
    pace = court["surfaces"][name or court["usual_surface"]]
    return Surface(pace["friction"], pace["restitution"])


def spread_of(court: Table, level: str | None = None, serve: bool = False) -> Spread:
    """Return the spread of players at a level, in a rally or on serve."""
    found = court["serve_spreads" if serve else "spreads"][level or court["usual_level"]]
    return Spread(found["vertical"], found["sideways"])
