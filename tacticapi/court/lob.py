"""The lob over an opponent at the net: how it must leave, and whether they can still smash it going back."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from tacticapi.court.dimensions import Floats
from tacticapi.court.flight import fly, launched
from tacticapi.court.reach import Mover
from tacticapi.court.shot import Place, Shot, Spot
from tacticapi.court.stand import distance

ELEVATIONS: Final = np.arange(25.0, 76.0, 1.0)
SPEEDS: Final = np.arange(8.0, 41.0, 1.0)


class NoLobError(ValueError):
    """No lob clears the opponent and lands on its target."""


@dataclass(frozen=True, slots=True)
class Lob:
    """The flattest lob that clears the opponent.

    shot: with the speed (m/s) it needs; elevation: degrees; over: metres between the ball and their racket as it
    passes above them; time: until it lands (s); smash_spot and smash_time: where and when it is down at their racket's
    height again; smash_missing: metres by which they come too late to smash it there, 0 or less where they can.
    """

    shot: Shot
    elevation: float
    over: float
    time: float
    smash_spot: Spot
    smash_time: float
    smash_missing: float


def lob_over(shot: Shot, place: Place, opponent: Spot, mover: Mover, *, racket: float, over: float) -> Lob:
    """The flattest lob on the shot's target that passes `over` metres above the racket held up at `racket` (m).

    The shot's own speed is not used. They run back as fast as they run anywhere, which is generous to them. Raises
    NoLobError where none does.
    """
    speeds = _speeds(shot, place)
    known = ~np.isnan(speeds)
    ups, speeds = ELEVATIONS[known], speeds[known]
    bearing = np.degrees(np.arctan2(shot.target[0] - shot.contact[0], shot.target[1] - shot.contact[1]))
    launch = launched(shot.contact, speeds, ups, bearing, topspin=shot.topspin)
    flights = fly(launch, place.ball, place.density, opponent[1])
    falling = fly(launch, place.ball, place.density, opponent[1], ground=racket)
    above = flights.crossing[2] - racket
    enough = np.flatnonzero(above >= over)
    if not enough.size:
        raise NoLobError
    at = int(enough[0])
    spot, time = (float(falling.landing[0, at]), float(falling.landing[1, at])), float(falling.time[at])
    return Lob(
        shot=replace(shot, high=True, speed=float(speeds[at])),
        elevation=float(ups[at]),
        over=float(above[at]),
        time=float(flights.time[at]),
        smash_spot=spot,
        smash_time=time,
        smash_missing=distance(opponent, spot) - mover.covered(time),
    )


def _speeds(shot: Shot, place: Place) -> Floats:
    """The speed at which each elevation carries the ball to its target, NaN where none does."""
    wanted = distance(shot.contact[:2], shot.target)
    ups, speeds = np.meshgrid(ELEVATIONS, SPEEDS, indexing="ij")
    x, y, _ = shot.flown(place, ups.ravel(), 0.0, speeds.ravel()).landing - np.asarray(shot.contact)[:, None]
    reached = np.hypot(x, y).reshape(ups.shape)
    return np.array([np.interp(wanted, row, SPEEDS, np.nan, np.nan) for row in reached])
