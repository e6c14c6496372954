"""Where to stand for a ball, for a smash and after a lob, with what each stand covers and concedes."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tacticapi.api.calculations.court.parts import COURT_NUMBERS, MODEL
from tacticapi.api.calculations.court.position_body import PositionAsked, smash_at, their_shot
from tacticapi.court import (
    Lob,
    OutOfReachError,
    Reply,
    Smash,
    Stand,
    arrival,
    bisected,
    conceded,
    covering_line,
    least_depth,
    lob_over,
    reply_stand,
    widest,
)
from tacticapi.court.numbers import usual
from tacticapi.court.shot import Spot
from tacticapi.pictures import percent

STILL_M = 0.05  # a shift smaller than this is none
COACHES = "Which way a smash goes is disputed among coaches; what was counted stands above the usual share."


@dataclass(frozen=True, slots=True)
class StandTold:
    """The stand on the middle of the angles the one that covers the line, and the times of both widest balls (s)."""

    middle: Stand
    line: Stand
    metres: float
    seconds: float
    times: dict[str, float | None]


@dataclass(frozen=True, slots=True)
class PositionTold:
    """What was asked for: stands, replies to a smash, the lob with the reply to the smash that it allows."""

    asked: PositionAsked
    stand: StandTold | None
    smash: Reply | None
    deeper: Reply | None
    lob: Lob | None
    after_lob: Reply | None


def position_told(asked: PositionAsked) -> PositionTold:
    """Calculate a position. Raises OutOfReachError for a smash that cannot get in, NoLobError without a lob."""
    smash = reply_stand(asked.smash, asked.place, asked.own, asked.line) if asked.smash else None
    deeper = least_depth(asked.smash, asked.place, asked.own) if asked.smash else None
    lob, after = _lob(asked)
    return PositionTold(asked, _stand(asked), smash, deeper, lob, after)


def position_body(told: PositionTold) -> dict[str, Any]:
    """The answer, unrounded."""
    return {
        "stand": told.stand and _stand_body(told.stand, told.asked),
        "smash": told.smash and _reply_body(told.smash),
        "smash_further_back": told.deeper and _reply_body(told.deeper),
        "lob": told.lob and _lob_body(told.lob),
        "after_lob": told.after_lob and _reply_body(told.after_lob),
        "notes": [*position_words(told), MODEL],
    }


def position_words(told: PositionTold) -> Iterator[str]:
    """What was found in plain sentences."""
    if told.stand:
        yield stand_words(told.stand.middle, told.asked.ball.spot if told.asked.ball else (0.0, 0.0))
        yield (
            f"Covering the line instead gives away {told.stand.metres:.1f} m across the court, and "
            f"{told.stand.seconds:.2f} s to get there."
        )
    if told.smash:
        yield reply_words(told.smash)
        yield COACHES
    if told.lob:
        late = told.lob.smash_missing > 0
        yield (
            f"The lob leaves at {told.lob.elevation:.0f} degrees and {told.lob.shot.speed:.0f} m/s, passes "
            f"{told.lob.over:.1f} m above the racket and lands after {told.lob.time:.1f} s; going back they "
            + (f"are {told.lob.smash_missing:.1f} m late for a smash." if late else "can still smash it.")
        )
        if told.after_lob:
            yield reply_words(told.after_lob)


def stand_words(stand: Stand, ball: Spot) -> str:
    """Where the middle of the angles is, seen from the middle of the court."""
    x = stand.spot[0]
    if abs(x) < STILL_M:
        return "The middle of their angles is the middle of the court."
    side = "towards the side of their ball" if x * ball[0] > 0 else "to the side of the middle away from their ball"
    return f"The middle of their angles is about {abs(x):.1f} m {side}."


def reply_words(reply: Reply) -> str:
    """What a stand for a smash covers."""
    names = {ball.way: ball.direction for ball in reply.balls}
    ways = {way: f"the {'across-body' if way == 'across' else 'other'} smash ({name})" for way, name in names.items()}
    if len(reply.covered) == len(reply.balls):
        return f"Waiting {_far(reply)}, both ways are within reach."
    left = next(way for way in ways if way not in reply.covered)
    likely = f"{percent(reply.chance)} likely"
    return f"Waiting {_far(reply)}, cover {ways[reply.covered[0]]}, {likely}, and leave {ways[left]}."


def _far(reply: Reply) -> str:
    return f"{abs(reply.spot[1]):.1f} m from the net"


def _stand(asked: PositionAsked) -> StandTold | None:
    if asked.ball is None:
        return None
    angles = widest(asked.ball.spot, asked.ball.line_deep)
    middle = bisected(asked.ball.spot, angles, asked.line)
    line = covering_line(middle, asked.own)
    times = {"line": _time(asked, angles.line), "cross": _time(asked, angles.cross)}
    return StandTold(middle, line, *conceded(middle, line, asked.own), times)


def _time(asked: PositionAsked, target: Spot) -> float | None:
    """When a ball of theirs comes to the own line (s); None where they cannot play it at their speed."""
    assert asked.ball is not None
    try:
        return arrival(their_shot(asked.ball, target), asked.place, -asked.line).time
    except OutOfReachError:
        return None


def _lob(asked: PositionAsked) -> tuple[Lob | None, Reply | None]:
    if asked.lob is None:
        return None, None
    of = asked.lob
    lob = lob_over(of.shot, asked.place, of.opponent, asked.opponent, racket=of.racket, over=of.over)
    if lob.smash_missing > 0:
        return lob, None
    smash = after_lob(lob, of.racket, of.hand, of.across)
    try:
        return lob, reply_stand(smash, asked.place, asked.own, asked.line)
    except OutOfReachError:
        return lob, None


def after_lob(lob: Lob, racket: float, hand: str, across: float) -> Smash:
    """The smash, moving back, that a lob allows."""
    speed = usual(COURT_NUMBERS, "smash", "moving_back_speed_mps")
    return smash_at(lob.smash_spot, racket, speed, hand, across)


def _stand_body(told: StandTold, asked: PositionAsked) -> dict[str, Any]:
    return {
        "angle_deg": told.middle.angle,
        "middle": _one_stand(told.middle, told, asked),
        "covering_line": _one_stand(told.line, told, asked),
        "conceded_m": told.metres,
        "conceded_s": told.seconds,
    }


def _one_stand(stand: Stand, told: StandTold, asked: PositionAsked) -> dict[str, Any]:
    ways = {"line": (stand.line_x, stand.to_line), "cross": (stand.cross_x, stand.to_cross)}
    return {
        "x": stand.spot[0],
        "y": stand.spot[1],
        **{
            name: {
                "x": x,
                "distance_m": distance,
                "reach_s": asked.own.reach_time(distance),
                "ball_s": told.times[name],
            }
            for name, (x, distance) in ways.items()
        },
    }


def _reply_body(reply: Reply) -> dict[str, Any]:
    return {
        "x": reply.spot[0],
        "y": reply.spot[1],
        "covered": list(reply.covered),
        "chance": reply.chance,
        "ways": [
            {
                "way": ball.way,
                "direction": ball.direction,
                "chance": ball.chance,
                "x": ball.x,
                "time_s": ball.time,
                "within_m": ball.within,
            }
            for ball in reply.balls
        ],
    }


def _lob_body(lob: Lob) -> dict[str, Any]:
    return {
        "speed_mps": lob.shot.speed,
        "elevation_deg": lob.elevation,
        "over_m": lob.over,
        "time_s": lob.time,
        "smash_x": lob.smash_spot[0],
        "smash_y": lob.smash_spot[1],
        "smash_time_s": lob.smash_time,
        "smash_missing_m": lob.smash_missing,
    }
