"""The table of numbers (rules/court.yaml) ▶ the objects that calculate with them."""

from collections.abc import Mapping
from typing import Any

from tacticapi.court.flight import Ball, Surface, air_density
from tacticapi.court.shot import Place, Spread
from tacticapi.court.standing import Mover

Table = Mapping[str, Any]


def usual(court: Table, part: str, name: str) -> float:
    """Return the usual value of a number."""
    return float(court[part][name]["value"])


def said_or_usual(court: Table, part: str, name: str, said: Table | None) -> float:
    """Return what was posted under this name, else the usual value."""
    posted = (said or {}).get(name)
    return usual(court, part, name) if posted is None else float(posted)


def ball_of(court: Table) -> Ball:
    """Return the ball."""
    return Ball(*(usual(court, "ball", name) for name in ("mass_kg", "diameter_m", "drag", "inertia")))


def place_of(court: Table, air: Table | None = None, pace: str | None = None, sticks: bool = True) -> Place:
    """Return the place where it is played, in the air and on the court that were posted."""
    warm, high = (said_or_usual(court, "air", name, air) for name in ("temperature_c", "altitude_m"))
    return Place(ball_of(court), air_density(warm, high), surface_of(court, pace), sticks)


def surface_of(court: Table, name: str | None = None) -> Surface:
    """Return a court by its pace."""
    pace = court["surfaces"][name or court["usual_surface"]]
    return Surface(pace["friction"], pace["restitution"])


def spread_of(court: Table, level: str | None = None, serve: bool = False) -> Spread:
    """Return the spread of a level, in a rally or on serve."""
    found = court["serve_spreads" if serve else "spreads"][level or court["usual_level"]]
    return Spread(found["vertical"], found["sideways"])


def mover_of(court: Table, said: Table | None = None) -> Mover:
    """Return a player who moves as was posted, else as usual."""
    names = ("reaction_s", "acceleration_mps2", "top_speed_mps", "reach_m")
    return Mover(*(said_or_usual(court, "movement", name, said) for name in names))
