"""When and where a ball comes to whoever stands behind the bounce."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tacticapi.court.bounce import bounced
from tacticapi.court.flight import fly, launched
from tacticapi.court.shot import Place, Shot, Spot, aimed


@dataclass(frozen=True, slots=True)
class Arrival:
    """A ball where a player can meet it: seconds after it was struck, place (m), height (m).

    It is met on the line across the court on which the player stands, or where it bounces twice if that comes first.
    """

    time: float
    spot: Spot
    height: float


def arrival(shot: Shot, place: Place, line: float) -> Arrival:
    """Where a ball that is struck as meant comes to the line y = `line` (m), after its bounce if it bounces before.

    Raises OutOfReachError where it cannot get to its target.
    """
    return arrivals(shot, place, (line,))[0]


@lru_cache(maxsize=256)
def arrivals(shot: Shot, place: Place, lines: tuple[float, ...]) -> tuple[Arrival, ...]:
    """The same for several lines; patterns ask for the same balls over and over."""
    aim, planes = aimed(shot, place), np.asarray(lines, dtype=float)
    elevations = np.full(planes.size, aim.elevation)
    launch = launched(shot.contact, shot.speed, elevations, aim.azimuth, topspin=shot.topspin, sidespin=shot.sidespin)
    first = fly(launch, place.ball, place.density, planes)
    second = fly(bounced(first, place.surface, place.ball), place.ball, place.density, planes)
    again = np.where(np.isnan(second.crossing_time), second.time, second.crossing_time)
    there = np.where(np.isnan(second.crossing_time), second.landing, second.crossing)
    early = ~np.isnan(first.crossing_time)
    time = np.where(early, first.crossing_time, first.time + again)
    met = np.where(early, first.crossing, there)
    return tuple(Arrival(float(t), (float(x), float(y)), float(z)) for t, (x, y, z) in zip(time, met.T, strict=True))


def turned(spot: Spot) -> Spot:
    """The spot as the other player sees it, who faces the other way."""
    return -spot[0], -spot[1]
