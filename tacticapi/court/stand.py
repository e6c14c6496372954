"""Where to stand: the line that halves the angle of all balls the opponent could play, and what leaving it costs."""

from dataclasses import dataclass
from math import atan2, degrees, hypot, tan

from tacticapi.court.reach import Mover
from tacticapi.court.shot import Spot
from tacticapi.domain.court import BASELINE_M, SERVICE_LINE_M, SIDELINE_M


@dataclass(frozen=True, slots=True)
class Angles:
    """The two widest balls that an opponent could play from a spot: targets (m) on the own half.

    line: on the side of the court on which they hit. cross: on the other one.
    """

    line: Spot
    cross: Spot


@dataclass(frozen=True, slots=True)
class Stand:
    """A place to stand and what has to be covered from it.

    spot: metres. line_x, cross_x: where the two widest balls pass the line across the court on which one stands.
    angle: between those balls, degrees.
    """

    spot: Spot
    line_x: float
    cross_x: float
    angle: float

    @property
    def to_line(self) -> float:
        """Metres to the widest ball down the line."""
        return abs(self.line_x - self.spot[0])

    @property
    def to_cross(self) -> float:
        """Metres to the widest ball across."""
        return abs(self.cross_x - self.spot[0])


def widest(contact: Spot, line_deep: bool = False) -> Angles:
    """The widest balls from a contact on the opponent's half that land between the service line and the baseline.

    `line_deep`: the one down the line lands in the deep corner, so that only the ball across can be short. From the
    middle of the court the line is that on the own right.
    """
    side = -1.0 if contact[0] < 0 else 1.0
    depths = (SERVICE_LINE_M, BASELINE_M)
    corners = {s: [(s * SIDELINE_M, -depth) for depth in depths] for s in (side, -side)}
    line = corners[side][1] if line_deep else max(corners[side], key=lambda spot: side * _slope(contact, spot))
    return Angles(line, max(corners[-side], key=lambda spot: -side * _slope(contact, spot)))


def bisected(contact: Spot, angles: Angles, line: float) -> Stand:
    """The place on the line y = `line` (m) from which both widest balls are equally far in angle."""
    one, other = (atan2(target[0] - contact[0], contact[1] - target[1]) for target in (angles.line, angles.cross))
    along = contact[1] - line
    x = contact[0] + along * tan((one + other) / 2)
    wide, sharp = (contact[0] + along * _slope(contact, target) for target in (angles.line, angles.cross))
    return Stand((x, line), wide, sharp, degrees(abs(one - other)))


def covering_line(stand: Stand, mover: Mover) -> Stand:
    """The same line, but with the ball down the line within reach without a step."""
    step = max(stand.to_line - mover.reach, 0.0)
    towards = 1.0 if stand.line_x > stand.spot[0] else -1.0
    return Stand((stand.spot[0] + towards * step, stand.spot[1]), stand.line_x, stand.cross_x, stand.angle)


def conceded(bisecting: Stand, covering: Stand, mover: Mover) -> tuple[float, float]:
    """What covering the line gives away across: metres further to the widest ball, and seconds more to reach it."""
    metres = covering.to_cross - bisecting.to_cross
    return metres, mover.reach_time(covering.to_cross) - mover.reach_time(bisecting.to_cross)


def distance(one: Spot, other: Spot) -> float:
    """Metres over the ground."""
    return hypot(one[0] - other[0], one[1] - other[1])


def _slope(contact: Spot, target: Spot) -> float:
    """Metres across a metre that the ball comes nearer."""
    return (target[0] - contact[0]) / (contact[1] - target[1])
