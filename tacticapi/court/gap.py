"""How big a gap is enough: what an opponent covers while the ball flies, against where it passes them."""

from dataclasses import dataclass

from tacticapi.court.arrival import Arrival, arrival
from tacticapi.court.reach import Mover
from tacticapi.court.shot import Place, Shot, Spot
from tacticapi.court.stand import distance


@dataclass(frozen=True, slots=True)
class Running:
    """An opponent as the ball is struck: where they are (m), how fast they run (m/s, positive to the own right)."""

    spot: Spot
    speed: float = 0.0


@dataclass(frozen=True, slots=True)
class Gap:
    """A gap and what beats the opponent.

    needed: metres from them to the ball's way that they do not cover in time. open: metres there are. ball: where and
    when it could be met.
    """

    needed: float
    open: float
    ball: Arrival

    @property
    def enough(self) -> bool:
        """Whether the ball is past them."""
        return self.open > self.needed


def gap(shot: Shot, place: Place, opponent: Running, mover: Mover) -> Gap:
    """The gap of a ball that is struck as meant; they meet it on the line across the court on which they stand.

    Raises OutOfReachError where the ball cannot get to its target.
    """
    ball = arrival(shot, place, opponent.spot[1])
    towards = opponent.speed if ball.spot[0] > opponent.spot[0] else -opponent.speed
    return Gap(mover.covered(ball.time, towards), distance(opponent.spot, ball.spot), ball)
