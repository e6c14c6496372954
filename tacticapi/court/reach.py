"""How far a player gets in a time, and how long they need for a distance."""

from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True, slots=True)
class Mover:
    """A player who waits, starts, and then runs at their best.

    reaction: seconds from the other's hit to the first step. acceleration: m/s2. top_speed: m/s. reach: metres that
    arm and racket cover without a step.
    """

    reaction: float
    acceleration: float
    top_speed: float
    reach: float

    def covered(self, time: float, speed: float = 0.0) -> float:
        """Metres between the player and the furthest ball that they reach in this time (s); 0 in no time at all.

        speed: m/s that they already run when the ball is struck, negative away from it. Until they react they run on;
        a run away has to be stopped first.
        """
        left = time - self.reaction
        if left < 0:
            return 0.0
        away = max(-speed, 0.0)
        stopping = away / self.acceleration
        lost = away * stopping / 2
        return max(self.reach + speed * self.reaction - lost + self.run(left - stopping, max(speed, 0.0)), 0.0)

    def run(self, seconds: float, speed: float = 0.0) -> float:
        """Metres run in so many seconds by a player who begins at this speed (m/s)."""
        running, starting = max(seconds, 0.0), max(self.top_speed - speed, 0.0) / self.acceleration
        if running <= starting:
            return speed * running + self.acceleration * running**2 / 2
        return self.top_speed * running - (self.top_speed - speed) * starting / 2

    def reach_time(self, distance: float) -> float:
        """Seconds from the other's hit until a ball so many metres away can be struck."""
        way = max(distance - self.reach, 0.0)
        starting = self.top_speed**2 / (2 * self.acceleration)
        if way <= starting:
            return self.reaction + sqrt(2 * way / self.acceleration)
        return self.reaction + self.top_speed / self.acceleration + (way - starting) / self.top_speed
