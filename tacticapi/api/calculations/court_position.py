"""Calculate where to stand for a ball, and what each position covers and concedes."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any

from marshmallow import post_load

from tacticapi.api.calculations import parts
from tacticapi.api.http import fields as wire
from tacticapi.court.shot import OutOfReachError, Shot, Spot
from tacticapi.court.standing import Stand, arrival, bisected, conceded, covering_line, turned, widest
from tacticapi.domain.court import BASELINE_M

STANDS = ("baseline", "net")


class TheirBallSchema(parts.TheirSpotSchema):
    """The opponent's ball: where and how they strike it."""

    speed_mps = parts.number("shot", "speed_mps", "Speed of their ball, metres per second.")
    topspin_rpm = parts.number("shot", "topspin_rpm", "Topspin of their ball; negative for slice.")
    height_m = parts.number("shot", "height_m", "Height of their contact point.")
    line_deep = wire.StrictBoolean(says="Whether their ball down the line always lands deep.", default=False)

    @post_load
    def spot(self, data: dict[str, Any], **kwargs: Any) -> Any:
        """Return the opponent's ball, without a target, and where they strike it."""
        at = data["x"], data["y"]
        shot = Shot((*turned(at), data["height_m"]), (0.0, 0.0), data["speed_mps"], data["topspin_rpm"])
        return SimpleNamespace(spot=at, shot=shot, line_deep=data["line_deep"])


class CourtPositionQuestionSchema(parts.OccasionSchema):
    """The opponent's expected ball."""

    ball = wire.part(TheirBallSchema, required=True, says="Their expected groundstroke.")
    at = wire.Word(STANDS, says="Where you wait, if `line_y` is absent.", default="baseline")
    line_y = wire.Real(-18, -0.5, says="Where you wait, metres from the net, negative. Default: the place in `at`.")
    own = parts.filled(parts.MovementSchema(), "How you move. Default: the usual values.")
    where = parts.WHERE

    def complete(self, query: parts.Question) -> None:
        """Add where you wait."""
        if query.line_y is None:
            behind = -BASELINE_M - parts.usual("stand", "behind_baseline_m")
            query.line_y = -parts.usual("stand", "net_distance_m") if query.at == "net" else behind


STILL_M = 0.05  # smaller shifts count as none


@dataclass(frozen=True, slots=True)
class PositionResult:
    """The position on the bisector, the position that covers the line, and the times of both widest balls (s)."""

    query: parts.Question
    middle: Stand
    line: Stand
    metres: float
    seconds: float
    line_time: float | None
    cross_time: float | None

    def down_the_line(self, stand: Stand) -> tuple[float, float, float, float | None]:
        """Return where their widest ball down the line passes (m), its distance (m), your time and its time (s)."""
        return stand.line_x, stand.to_line, self.query.own.reach_time(stand.to_line), self.line_time

    def ball_across(self, stand: Stand) -> tuple[float, float, float, float | None]:
        """Return the same for their widest cross-court ball."""
        return stand.cross_x, stand.to_cross, self.query.own.reach_time(stand.to_cross), self.cross_time


def position_result(query: parts.Question) -> PositionResult:
    """Calculate where to stand."""
    angles = widest(query.ball.spot, query.ball.line_deep)
    middle = bisected(query.ball.spot, angles, query.line_y)
    line = covering_line(middle, query.own)
    times = (_time(query, angles.line), _time(query, angles.cross))
    return PositionResult(query, middle, line, *conceded(middle, line, query.own), *times)


def position_words(result: PositionResult) -> Iterator[str]:
    """Yield the result in plain sentences."""
    yield stand_words(result.middle, result.query.ball.spot)
    yield (
        f"Covering the line instead gives away {result.metres:.1f} m across the court, and "
        f"{result.seconds:.2f} s to get there."
    )
    yield parts.MODEL


def stand_words(stand: Stand, ball: Spot) -> str:
    """Describe where the bisector is, relative to the middle of the court."""
    x = stand.spot[0]
    if abs(x) < STILL_M:
        return "The middle of their angles is the middle of the court."
    side = "towards the side of their ball" if x * ball[0] > 0 else "to the side of the middle away from their ball"
    return f"The middle of their angles is about {abs(x):.1f} m {side}."


def _time(query: parts.Question, target: Spot) -> float | None:
    """Return when their ball reaches your line (s); None if they cannot play it at that speed."""
    try:
        return arrival(replace(query.ball.shot, target=turned(target)), query.where, -query.line_y).time
    except OutOfReachError:
        return None


class BallAtStandSchema(wire.Answer):
    """The widest ball to one side, as seen from a position."""

    x = wire.a_number("Where the ball passes your line: metres to your right of the middle.", of="0")
    distance_m = wire.a_number("Metres from you to that place.", of="1")
    reach_s = wire.a_number("Seconds until you can strike it.", of="2")
    ball_s = wire.a_number("Seconds until the ball is there; absent if they cannot play it.", absent=True, of="3")


class OneStandSchema(wire.Answer):
    """A place to stand."""

    x = wire.a_number("Metres to your right of the middle.", of="0.spot.0")
    y = wire.a_number("Metres from the net; negative on your side.", of="0.spot.1")
    line = wire.a_part(BallAtStandSchema, "Their widest ball down the line.", of=lambda at: at[1].down_the_line(at[0]))
    cross = wire.a_part(BallAtStandSchema, "Their widest cross-court ball.", of=lambda at: at[1].ball_across(at[0]))


class StandSchema(wire.Answer):
    """Positions in which to wait for their ball."""

    angle_deg = wire.a_number("Angle between their two widest balls, degrees.", of="middle.angle")
    middle = wire.a_part(OneStandSchema, "On the bisector of that angle.", of=lambda stands: (stands.middle, stands))
    covering_line = wire.a_part(
        OneStandSchema, "Where the ball down the line comes to you.", of=lambda stands: (stands.line, stands)
    )
    conceded_m = wire.a_number("Extra metres to the widest cross-court ball if you cover the line.", of="metres")
    conceded_s = wire.a_number("Extra seconds to reach that ball.", of="seconds")


class CourtPositionSchema(parts.CalculationSchema):
    """The position to take, unrounded."""

    stand = wire.a_part(StandSchema, "Where to wait for their groundstroke.", absent=True, of=wire.itself)
    notes = wire.texts("The result in plain sentences.", absent=True, of=position_words)
