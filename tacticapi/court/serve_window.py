"""The window of a serve: between which elevations it passes the net and still lands in the box."""

from typing import Final

import numpy as np

from tacticapi.court.dimensions import Floats, net_height
from tacticapi.court.shot import Place, Shot

LOWEST, HIGHEST, STEP = -25.0, 25.0, 0.1  # degrees
NONE: Final = (float("nan"), float("nan"))


def serve_window(shot: Shot, place: Place, azimuth: float = 0.0) -> tuple[float, float]:
    """The lowest and the highest elevation (degrees) of a serve that is in, NaN twice where none is.

    The window opens where the bottom of the ball just clears the net and closes where its edge just touches the back
    line. Its width grows with the contact's height and with topspin and shrinks with speed (direction: Brody 1987,
    seen second-hand; every figure is this model's).
    """
    fan = np.arange(LOWEST, HIGHEST, STEP)
    flight = shot.flown(place, fan, azimuth)
    top = net_height(np.nan_to_num(flight.crossing[0]), place.sticks)
    over = np.nan_to_num(flight.crossing[2] - top - place.ball.radius_m, nan=-1.0)
    short = shot.into.back + place.ball.radius_m - flight.landing[1]
    inside = np.flatnonzero((over >= 0) & (short >= 0))
    if not inside.size or inside[0] == 0 or inside[-1] == fan.size - 1:
        return NONE
    return _zero(fan, over, int(inside[0]) - 1), _zero(fan, short, int(inside[-1]))


def _zero(fan: Floats, values: Floats, at: int) -> float:
    """Where the values pass zero between two neighbours."""
    return float(fan[at] + STEP * values[at] / (values[at] - values[at + 1]))
