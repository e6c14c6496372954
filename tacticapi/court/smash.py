"""Where to wait for a smash."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from tacticapi.court.shot import Place, Shot, Spot
from tacticapi.court.standing import Arrival, Mover, arrivals, turned
from tacticapi.domain.court import BASELINE_M, SIDELINE_M

ACROSS, OTHER = "across", "other"
MAX_BEHIND_M: Final = 5  # metres behind the baseline that are looked through


@dataclass(frozen=True, slots=True)
class Smash:
    """An opponent's smash (m, m/s); `across_chance`: towards the side of the hand that does not strike."""

    contact: tuple[float, float, float]
    speed: float
    hand: str
    across_chance: float
    margin: float

    @property
    def across_side(self) -> int:
        """Return 1 if across goes to the own right, -1 if to the own left."""
        return 1 if self.hand == "right" else -1

    def direction(self, way: str) -> str:
        """Return whether a way (across or other) is cross-court or down the line from here."""
        side = self.across_side if way == ACROSS else -self.across_side
        return "line" if side * self.contact[0] > 0 else "cross"


@dataclass(frozen=True, slots=True)
class SmashBall:
    """One way of the smash: where it passes the stand (x, m), after how long (s), how far one gets until then (m)."""

    way: str
    direction: str
    chance: float
    x: float
    time: float
    within: float


@dataclass(frozen=True, slots=True)
class Reply:
    """Where to wait for a smash: the spot (m), both ways, those within reach (one or both), and the chance of these."""

    spot: Spot
    balls: tuple[SmashBall, ...]
    covered: tuple[str, ...]
    chance: float


def reply_stand(smash: Smash, place: Place, mover: Mover, line: float) -> Reply:
    """Return the stand on the line y = `line` (m) that reaches most smashes. Raises OutOfReachError."""
    return reply_stands(smash, place, mover, (line,))[0]


def least_depth(smash: Smash, place: Place, mover: Mover) -> Reply:
    """Return the shallowest stand behind the baseline (half metres, up to `MAX_BEHIND_M`) that reaches most smashes."""
    lines = [-BASELINE_M - half / 2 for half in range(2 * MAX_BEHIND_M + 1)]
    return max(reply_stands(smash, place, mover, lines), key=lambda stand: (round(stand.chance, 9), stand.spot[1]))


def reply_stands(smash: Smash, place: Place, mover: Mover, lines: Sequence[float]) -> tuple[Reply, ...]:
    """Return the stand on each of these lines."""
    chances = {ACROSS: smash.across_chance, OTHER: 1 - smash.across_chance}
    met = {way: _met(smash, way, place, lines) for way in chances}
    found = []
    for place_of, line in enumerate(lines):
        at = {way: met[way][place_of] for way in chances}
        balls = (
            SmashBall(way, smash.direction(way), chance, -at[way].spot[0], at[way].time, mover.covered(at[way].time))
            for way, chance in chances.items()
        )
        found.append(_reply(tuple(balls), line))
    return tuple(found)


def across_chance(prior: Mapping[str, float], count: float = 0.0, of: float = 0.0) -> float:
    """Return the chance that a smash goes across the body: a prior in smashes, updated by those counted."""
    return (prior["share"] * prior["smashes"] + count) / (prior["smashes"] + of)


def _met(smash: Smash, way: str, place: Place, lines: Sequence[float]) -> tuple[Arrival, ...]:
    """Return where a way of the smash comes to each line, as the opponent sees it."""
    side = smash.across_side if way == ACROSS else -smash.across_side
    target = (side * (SIDELINE_M - smash.margin), -(BASELINE_M - 2 * smash.margin))
    shot = Shot((*turned(smash.contact[:2]), smash.contact[2]), turned(target), smash.speed)
    return arrivals(shot, place, tuple(-line for line in lines))


def _reply(balls: tuple[SmashBall, ...], line: float) -> Reply:
    x = _between(*sorted(balls, key=lambda ball: -ball.chance))
    covered = tuple(ball for ball in balls if abs(ball.x - x) <= ball.within + 1e-9)
    return Reply((x, line), balls, tuple(ball.way for ball in covered), sum(ball.chance for ball in covered))


def _between(likelier: SmashBall, other: SmashBall) -> float:
    """Return where to stand across the court: in reach of both ways, else of the likelier, towards the other."""
    way = other.x - likelier.x
    room = likelier.within + other.within
    part = likelier.within / room if room >= abs(way) and room else min(likelier.within / (abs(way) or 1.0), 1.0)
    return likelier.x + way * part
