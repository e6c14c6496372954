"""The usual patterns that open the court, played out ball by ball: after how many the gap is large enough.

The strong side is where the ball is kept; the open side is the other one. Between two balls the opponent plays the
reply and runs back towards the middle of the angles. Who comes to a ball late replies short, so that the next one is
struck from inside the court. All of it is a model of ours: it shows what a pattern does, not what a player will do.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from tacticapi.court.arrival import turned
from tacticapi.court.gap import Gap, Running, gap
from tacticapi.court.reach import Mover
from tacticapi.court.shot import OutOfReachError, Place, Shot, Spot
from tacticapi.court.stand import bisected, distance, widest
from tacticapi.domain.court import BASELINE_M, SERVICE_LINE_M, SIDELINE_M

LONGEST: Final = 8  # balls looked ahead
STRONG, OPEN, SHORT_STRONG, SHORT_OPEN, MIDDLE = "strong", "open", "short-strong", "short-open", "middle"


@dataclass(frozen=True, slots=True)
class Pattern:
    """A pattern: the balls that come first, those that are then played over and over, and where the last ball goes."""

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
    """What a pattern is played with: own shot (its target is replaced), both sides' habits.

    strong: +1 where the strong side is on the own right, -1 on the left. margin: metres that targets keep inside the
    lines. reply: the opponent's ball, struck from wherever they are (its contact's height is theirs). recovery: m/s
    back to the middle. late: seconds to spare below which a reply comes short. closer: metres that the own contact
    moves forward for a short reply.
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
        """Where a ball of a pattern goes (m)."""
        side = {STRONG: self.strong, SHORT_STRONG: self.strong, MIDDLE: 0}.get(name, -self.strong)
        deep = SERVICE_LINE_M - self.margin if name in (SHORT_STRONG, SHORT_OPEN) else BASELINE_M - self.margin
        return side * (SIDELINE_M - self.margin), deep


@dataclass(frozen=True, slots=True)
class Opening:
    """When a pattern opens the court.

    balls: how many are struck, the one into the gap included; None where `LONGEST` do not open it. gap: of that ball,
    or the largest that was found. after_short: whether it took a short reply first.
    """

    pattern: Pattern
    balls: int | None
    gap: Gap | None
    after_short: bool


def opening(pattern: Pattern, rally: Rally) -> Opening:
    """Play a pattern out until its last ball is past the opponent."""
    state, short, best = Running(rally.opponent), False, None
    for ball in range(1, LONGEST + 1):
        last = _gap(rally, state, short, pattern.then or pattern.balls[(ball - 1) % len(pattern.balls)])
        if last is not None and (best is None or last.open - last.needed > best.open - best.needed):
            best = last
        if last is not None and last.enough:
            return Opening(pattern, ball, last, short)
        played = _gap(rally, state, short, pattern.balls[(ball - 1) % len(pattern.balls)])
        if played is None:
            break
        if played.enough:
            return Opening(pattern, ball, played, short)
        short = played.ball.time - rally.mover.reach_time(played.open) < rally.late
        state = _after(rally, state, played)
    return Opening(pattern, None, best, False)


def openings(rally: Rally, patterns: Sequence[Pattern] = PATTERNS) -> tuple[Opening, ...]:
    """Every pattern, the quickest first."""
    found = [opening(pattern, rally) for pattern in patterns]
    return tuple(sorted(found, key=lambda one: one.balls or LONGEST + 1))


def _gap(rally: Rally, opponent: Running, short: bool, name: str) -> Gap | None:
    """The gap of the next ball; None where it cannot be struck there."""
    x, y, z = rally.shot.contact
    contact = (x, min(y + rally.closer, -1.0), z) if short else (x, y, z)
    shot = replace(rally.shot, contact=contact, target=rally.target(name))
    try:
        return gap(shot, rally.place, opponent, rally.mover)
    except OutOfReachError:
        return None


def _after(rally: Rally, before: Running, played: Gap) -> Running:
    """Where they are when the next own ball is struck: from their contact back towards the middle of the angles.

    They are taken to stay on their line, also after a short ball.
    """
    at = _towards(before.spot, played.ball.spot, max(played.open - rally.mover.reach, 0.0))[0], rally.opponent[1]
    seen = turned(rally.shot.contact[:2])
    home = turned(bisected(seen, widest(seen), -rally.opponent[1]).spot)
    way, run = distance(at, home), rally.recovery * rally.reply_time
    arrived = run >= way
    speed = 0.0 if arrived else rally.recovery * (home[0] - at[0]) / way
    return Running(home if arrived else _towards(at, home, run), speed)


def _towards(start: Spot, end: Spot, metres: float) -> Spot:
    part = metres / (distance(start, end) or 1.0)
    return start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part
