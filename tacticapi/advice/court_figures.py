"""What the notes about court and ball rest on, flown once for the same inputs.

Rally balls are struck half way between the middle and the sideline's corner behind the baseline, a wide contact, and
land well inside the lines; a serve is struck beside the centre mark and goes down the T.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

from tacticapi.court import (
    BOXES,
    Mover,
    OutOfReachError,
    Place,
    Reply,
    Shot,
    Smash,
    Spread,
    Window,
    aimed,
    arrival,
    mirrored,
    reply_stand,
    serve_window,
)
from tacticapi.court.shot import Outcome
from tacticapi.domain.court import BASELINE_M, SERVICE_LINE_M, SIDELINE_M

REMEMBERED = 256
TOPSPIN_RPM = 1000.0  # what is compared with a flat serve


@dataclass(frozen=True, slots=True)
class Drive:
    """A rally ball: speed (m/s), topspin (rpm), height of the contact (m), how far inside the lines it is meant (m)."""

    speed: float
    topspin: float
    height: float
    margin: float

    @property
    def across(self) -> Shot:
        """From the corner to the corner across."""
        contact = (SIDELINE_M - self.margin / 2, -BASELINE_M - self.margin / 2, self.height)
        target = (self.margin - SIDELINE_M, BASELINE_M - self.margin)
        return Shot(contact, target, self.speed, self.topspin)


@dataclass(frozen=True, slots=True)
class InChance:
    """The chance that a ball is in, and that it ends in the net or long."""

    inside: float
    net_or_long: float


@lru_cache(maxsize=REMEMBERED)
def in_chances(drive: Drive, spread: Spread, place: Place) -> tuple[InChance, InChance] | None:
    """Across and down the line, as far from the lines; None where the ball does not get there."""
    try:
        across, line = (_in_chance(shot, spread, place) for shot in (drive.across, mirrored(drive.across)))
    except OutOfReachError:
        return None
    return across, line


@lru_cache(maxsize=REMEMBERED)
def serve_windows(height: float, speed: float, place: Place) -> tuple[float, float]:
    """Degrees up and down within which a serve down the T is in, flat and with topspin; 0 where none is."""
    shot = Shot((0.0, -BASELINE_M, height), (0.0, SERVICE_LINE_M), speed, into=BOXES["deuce"])
    flat, spun = (serve_window(one, place) for one in (shot, replace(shot, topspin=TOPSPIN_RPM)))
    return _width(flat), _width(spun)


@lru_cache(maxsize=REMEMBERED)
def gap_that_beats(drive: Drive, mover: Mover, place: Place, line: float) -> tuple[float, float] | None:
    """Metres that an opponent on this line (m beyond the net) covers, and the seconds that the ball takes to pass it.

    The ball goes down the line from a wide contact; None where it does not get there.
    """
    try:
        ball = arrival(mirrored(drive.across), place, line)
    except OutOfReachError:
        return None
    return mover.covered(ball.time), ball.time


@lru_cache(maxsize=REMEMBERED)
def smash_reply(smash: Smash, mover: Mover, place: Place, line: float) -> Reply:
    """Where to wait for a smash. Raises OutOfReachError for one that cannot get into the court."""
    return reply_stand(smash, place, mover, line)


def _in_chance(shot: Shot, spread: Spread, place: Place) -> InChance:
    aim = aimed(shot, place)
    window = Window.of(shot, place, aim, spread)
    chance = {outcome: window.chance_at(aim, outcome, spread) for outcome in Outcome}
    return InChance(chance[Outcome.IN], chance[Outcome.NET] + chance[Outcome.LONG])


def _width(window: tuple[float, float]) -> float:
    width = window[1] - window[0]
    return width if width > 0 else 0.0
