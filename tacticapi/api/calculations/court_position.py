"""Where to stand for a ball and for a smash, with what each stand covers and concedes."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any

from marshmallow import ValidationError, post_load, validates_schema

from tacticapi.api.calculations import parts
from tacticapi.api.http import fields as wire
from tacticapi.court.shot import OutOfReachError, Shot, Spot
from tacticapi.court.smash import Reply, Smash, across_chance, least_depth, reply_stand
from tacticapi.court.standing import Mover, Stand, arrival, bisected, conceded, covering_line, turned, widest
from tacticapi.domain.court import BASELINE_M
from tacticapi.domain.situation import Wing
from tacticapi.pictures.svg import percent

STANDS = ("baseline", "net")
SOME_BALL = "at least one of ball and smash"


class TheirBallSchema(parts.TheirSpotSchema):
    """Where your opponent strikes the ball, and how."""

    speed_mps = parts.number("shot", "speed_mps", "Speed of their ball, metres a second.")
    topspin_rpm = parts.number("shot", "topspin_rpm", "Its topspin; negative for slice.")
    height_m = parts.number("shot", "height_m", "Height of their contact.")
    line_deep = wire.StrictBoolean(says="Whether their ball down the line always lands deep.", default=False)

    @post_load
    def spot(self, data: dict[str, Any], **kwargs: Any) -> Any:
        """Return the ball as they see it, its target left open, and where it is struck."""
        at = data["x"], data["y"]
        shot = Shot((*turned(at), data["height_m"]), (0.0, 0.0), data["speed_mps"], data["topspin_rpm"])
        return SimpleNamespace(spot=at, shot=shot, line_deep=data.get("line_deep") is True)


class SmashSchema(wire.Shape):
    """A smash of your opponent."""

    hand = wire.Word(parts.HANDS, required=True, says="The hand that smashes.")
    across = wire.part(parts.CountedSchema, says="Smashes across their body, out of all. Absent if not counted.")
    contact = wire.part(parts.TheirSpotSchema, says="Where they smash. Default: over the wing, as deep as usual.")
    wing = wire.Word(Wing, says="Over which shoulder the lob came, where contact is absent.", default=Wing.FOREHAND)
    moving_back = wire.StrictBoolean(says="Whether they move back as they smash; false: they are set.", default=True)
    speed_mps = parts.number("smash", "moving_back_speed_mps", "Its speed moving back; faster if set.", filled=False)
    height_m = parts.number("smash", "height_m", "Height of the contact.")

    @post_load
    def smash(self, data: dict[str, Any], **kwargs: Any) -> Smash:
        """Return the smash."""
        name = "set_speed_mps" if data.get("moving_back") is False else "moving_back_speed_mps"
        speed = parts.usual("smash", name) if data["speed_mps"] is None else data["speed_mps"]
        at = data.get("contact") or (_over(data), parts.usual("smash", "from_net_m"))
        margin = parts.usual("smash", "margin_m")  # our margin inside the lines
        return Smash((*at, data["height_m"]), speed, data["hand"], _across(data), margin)


class CourtPositionQuestionSchema(parts.OccasionSchema):
    """The expected ball of your opponent: from the ground, or a smash."""

    ball = wire.part(TheirBallSchema, says="Their ball from the ground. Absent if not wanted.")
    smash = wire.part(SmashSchema, says="Their smash. Absent if not wanted.")
    at = wire.Word(STANDS, says="Where you wait, where `line_y` is absent.", default="baseline")
    line_y = wire.Real(-18, -0.5, says="Your own line: metres from the net, negative. Default: as `at` says.")
    own = parts.filled(parts.MovementSchema, "How you move. Default: as usual.")
    opponent = parts.filled(parts.MovementSchema, "How your opponent moves. Default: as usual.")
    where = parts.WHERE

    @validates_schema
    def some_ball(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse a question about nothing."""
        if not any(data.get(name) for name in ("ball", "smash")):
            raise ValidationError(SOME_BALL)

    @post_load
    def asked(self, data: dict[str, Any], **kwargs: Any) -> Any:
        """Return the body as it is calculated on."""
        query = super().asked(data)
        if query.line_y is None:
            behind = -BASELINE_M - parts.usual("stand", "behind_baseline_m")
            query.line_y = -parts.usual("stand", "net_distance_m") if query.at == "net" else behind
        return query


def _across(data: Mapping[str, Any]) -> float:
    counted = data.get("across") or {"count": 0.0, "of": 0.0}
    prior = {"share": parts.usual("smash", "across_share")}
    return across_chance({**prior, "smashes": parts.usual("smash", "across_smashes")}, **counted)


def _over(data: Mapping[str, Any]) -> float:
    """Return x of the shoulder of a wing, metres: a right-hander's forehand is on your left, as they face you."""
    side = -1.0 if data["hand"] == "right" else 1.0
    forehand = (data.get("wing") or Wing.FOREHAND) == Wing.FOREHAND
    return (side if forehand else -side) * parts.usual("smash", "side_m")


STILL_M = 0.05  # a shift smaller than this is none
COACHES = "Which way a smash goes is disputed among coaches; counts come before the usual share."


@dataclass(frozen=True, slots=True)
class StandResult:
    """The stand on the middle of the angles, the one that covers the line, and the times of both widest balls (s)."""

    middle: Stand
    line: Stand
    metres: float
    seconds: float
    own: Mover
    line_time: float | None
    cross_time: float | None

    def down_the_line(self, stand: Stand) -> tuple[float, float, float, float | None]:
        """Return where their widest ball down the line passes (m), how far that is (m), how soon I and it are there."""
        return stand.line_x, stand.to_line, self.own.reach_time(stand.to_line), self.line_time

    def ball_across(self, stand: Stand) -> tuple[float, float, float, float | None]:
        """Return the same of their widest ball across."""
        return stand.cross_x, stand.to_cross, self.own.reach_time(stand.to_cross), self.cross_time


@dataclass(frozen=True, slots=True)
class PositionResult:
    """The results: stands, and replies to a smash."""

    query: parts.Question
    stand: StandResult | None
    smash: Reply | None
    deeper: Reply | None


def position_result(query: parts.Question) -> PositionResult:
    """Calculate a position. Raises OutOfReachError for a smash that cannot get in."""
    smash = reply_stand(query.smash, query.where, query.own, query.line_y) if query.smash else None
    deeper = least_depth(query.smash, query.where, query.own) if query.smash else None
    return PositionResult(query, _stand(query), smash, deeper)


def position_words(result: PositionResult) -> Iterator[str]:
    """Return what was found in plain sentences."""
    if result.stand:
        yield stand_words(result.stand.middle, result.query.ball.spot if result.query.ball else (0.0, 0.0))
        yield (
            f"Covering the line instead gives away {result.stand.metres:.1f} m across the court, and "
            f"{result.stand.seconds:.2f} s to get there."
        )
    if result.smash:
        yield reply_words(result.smash)
        yield COACHES
    yield parts.MODEL


def stand_words(stand: Stand, ball: Spot) -> str:
    """Return where the middle of the angles is, seen from the middle of the court."""
    x = stand.spot[0]
    if abs(x) < STILL_M:
        return "The middle of their angles is the middle of the court."
    side = "towards the side of their ball" if x * ball[0] > 0 else "to the side of the middle away from their ball"
    return f"The middle of their angles is about {abs(x):.1f} m {side}."


def reply_words(reply: Reply) -> str:
    """Return what a stand for a smash covers."""
    names = {ball.way: ball.direction for ball in reply.balls}
    ways = {way: f"the {'across-body' if way == 'across' else 'other'} smash ({name})" for way, name in names.items()}
    waiting = f"Waiting {abs(reply.spot[1]):.1f} m from the net"
    if len(reply.covered) == len(reply.balls):
        return f"{waiting}, both ways are within reach."
    left = next(way for way in ways if way not in reply.covered)
    likely = f"{percent(reply.chance)} likely"
    return f"{waiting}, cover {ways[reply.covered[0]]}, {likely}, and leave {ways[left]}."


def _stand(query: parts.Question) -> StandResult | None:
    if query.ball is None:
        return None
    angles = widest(query.ball.spot, query.ball.line_deep)
    middle = bisected(query.ball.spot, angles, query.line_y)
    line = covering_line(middle, query.own)
    times = (_time(query, angles.line), _time(query, angles.cross))
    return StandResult(middle, line, *conceded(middle, line, query.own), query.own, *times)


def _time(query: parts.Question, target: Spot) -> float | None:
    """Return when a ball of theirs comes to the own line (s); None if they cannot play it at their speed."""
    try:
        return arrival(replace(query.ball.shot, target=turned(target)), query.where, -query.line_y).time
    except OutOfReachError:
        return None


class BallAtStandSchema(wire.Answer):
    """The widest ball to one side, seen from a stand."""

    x = wire.a_number("Where it passes the own line: metres to your right of the middle.", of="0")
    distance_m = wire.a_number("Metres to it.", of="1")
    reach_s = wire.a_number("Seconds until you can strike it.", of="2")
    ball_s = wire.a_number("Seconds until it is there; absent if they cannot play it so fast.", absent=True, of="3")


class OneStandSchema(wire.Answer):
    """A place to stand."""

    x = wire.a_number("Metres to your right of the middle.", of="0.spot.0")
    y = wire.a_number("Metres from the net, negative: your half.", of="0.spot.1")
    line = wire.a_part(BallAtStandSchema, "Their widest ball down the line.", of=lambda at: at[1].down_the_line(at[0]))
    cross = wire.a_part(BallAtStandSchema, "Their widest ball across.", of=lambda at: at[1].ball_across(at[0]))


class StandSchema(wire.Answer):
    """Where to wait for their ball."""

    angle_deg = wire.a_number("Angle between their two widest balls, degrees.", of="middle.angle")
    middle = wire.a_part(OneStandSchema, "On the line that halves it.", of=lambda stands: (stands.middle, stands))
    covering_line = wire.a_part(
        OneStandSchema, "No step from the line's ball.", of=lambda stands: (stands.line, stands)
    )
    conceded_m = wire.a_number("Metres further to the widest ball across when covering the line.", of="metres")
    conceded_s = wire.a_number("Seconds more to reach it.", of="seconds")


class SmashWaySchema(wire.Answer):
    """One way of a smash."""

    way = wire.a_word(("across", "other"), "Across their body, or the other way.")
    direction = wire.a_word(("cross", "line"), "What that is from where they strike: cross-court or down the line.")
    chance = wire.a_chance("How likely it goes there.")
    x = wire.a_number("Where it passes your line: metres to your right of the middle.")
    time_s = wire.a_number("Seconds until it is there.", of="time")
    within_m = wire.a_number("Metres that you cover till then.", of="within")


class ReplySchema(wire.Answer):
    """Where to wait for a smash."""

    x = wire.a_number("Metres to your right of the middle.", of="spot.0")
    y = wire.a_number("Metres from the net, negative: your half.", of="spot.1")
    covered = wire.a_list(wire.a_word(("across", "other"), "A way."), "The ways within reach.")
    chance = wire.a_chance("How likely the smash goes to one of them.")
    ways = wire.a_list(SmashWaySchema, "Both ways.", of="balls")


class CourtPositionSchema(parts.CalculationSchema):
    """Where to stand, unrounded. Parts that were not requested are absent."""

    stand = wire.a_part(StandSchema, "For their ball from the ground.", absent=True)
    smash = wire.a_part(ReplySchema, "For their smash, on your line.", absent=True)
    smash_further_back = wire.a_part(
        ReplySchema, "The nearest that reaches most, behind the baseline.", absent=True, of="deeper"
    )
    notes = wire.texts("What was found, in plain sentences.", absent=True, of=position_words)
