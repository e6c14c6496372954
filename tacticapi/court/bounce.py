"""The bounce by friction and restitution, and the rating of a court's pace.

The ball is rigid: it slides through the bounce unless friction suffices to make it roll ("grip"). What a real ball
stores and gives back in its cloth is left out, so a gripped ball leaves a little too slow.
"""

from dataclasses import dataclass

import numpy as np

from tacticapi.court.ball import Ball
from tacticapi.court.flight import Flight, Launch

CATEGORIES = (30, 35, 40, 45)  # a rating from here on is of the next category (ITF Rules of Tennis, appendix I)


@dataclass(frozen=True, slots=True)
class Surface:
    """A court: friction of the ball on it, and the share of the upward speed that it gives back (both 0 to 1)."""

    friction: float
    restitution: float

    @property
    def pace_rating(self) -> float:
        """100 (1 - friction) + 150 (0.81 - restitution), the ITF's rating (CS 01/02), at 23 degrees."""
        return 100 * (1 - self.friction) + 150 * (0.81 - self.restitution)

    @property
    def category(self) -> int:
        """1 slow to 5 fast. The rule names whole ratings alone; those in between are rounded, which is ours."""
        return 1 + sum(round(self.pace_rating) >= least for least in CATEGORIES)


def bounced(flight: Flight, surface: Surface, ball: Ball) -> Launch:
    """The balls as they leave the ground; NaN where one never came down."""
    (vx, vy, vz), (wx, wy, wz) = flight.velocity, flight.spin
    radius = ball.radius_m
    slip = np.array([vx - radius * wy, vy + radius * wx])  # speed of the ball's lowest point over the ground
    size = np.hypot(*slip)
    push = np.minimum(surface.friction * (1 + surface.restitution) * -vz, size / (1 + 1 / ball.inertia))
    change = -push * slip / np.where(size > 0, size, 1.0)
    spin = np.array([wx + change[1] / (ball.inertia * radius), wy - change[0] / (ball.inertia * radius), wz])
    velocity = np.array([vx + change[0], vy + change[1], -surface.restitution * vz])
    return Launch(flight.landing, velocity, spin)
