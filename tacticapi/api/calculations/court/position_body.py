"""The body of a court position: where the opponent strikes, their smash, or your lob."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from marshmallow import ValidationError, post_load, validates_schema

from tacticapi.api.calculations.court.parts import (
    COURT_NUMBERS,
    HANDS,
    ContactSchema,
    CountedSchema,
    MovementSchema,
    TheirSpotSchema,
    number,
    spot,
    where,
    where_part,
)
from tacticapi.api.calculations.occasion import Occasion, OccasionSchema, occasion
from tacticapi.api.fields import Real, Word, Yes, part
from tacticapi.api.shapes import Shape
from tacticapi.court import Mover, Shot, Smash, across_chance, turned
from tacticapi.court.numbers import mover_of, said_or_usual, usual
from tacticapi.court.shot import Place, Spot
from tacticapi.domain.court import BASELINE_M
from tacticapi.domain.terms import Wing

STANDS = ("baseline", "net")
SOME_BALL = "at least one of ball, smash and lob"


@dataclass(frozen=True, slots=True)
class BallAsked:
    """The opponent's ball: contact (m), speed (m/s), topspin (rpm), height (m); whether its line ball is deep."""

    spot: Spot
    speed: float
    topspin: float
    height: float
    line_deep: bool


@dataclass(frozen=True, slots=True)
class LobAsked:
    """Your lob over an opponent at the net: the stroke, where they stand, how high they reach, by how much over it."""

    shot: Shot
    opponent: Spot
    racket: float
    over: float
    hand: str
    across: float


@dataclass(frozen=True, slots=True)
class PositionAsked:
    """What to stand ready for, with the place, how both move, and the own line across the court (y, m)."""

    occasion: Occasion
    place: Place
    own: Mover
    opponent: Mover
    line: float
    ball: BallAsked | None
    smash: Smash | None
    lob: LobAsked | None


class TheirBallSchema(TheirSpotSchema):
    """Where your opponent strikes the ball, and how."""

    speed_mps = number("shot", "speed_mps", "Speed of their ball, metres a second.")
    topspin_rpm = number("shot", "topspin_rpm", "Its topspin; negative for slice.")
    height_m = number("shot", "height_m", "Height of their contact.")
    line_deep = Yes(says="Whether their ball down the line always lands deep.", default=False)


class SmasherSchema(Shape):
    """Who smashes: hand and habit."""

    hand = Word(HANDS, required=True, says="The hand that smashes.")
    across = part(CountedSchema, says="Smashes that went across their body, out of all. Absent: not counted.")


class SmashSchema(SmasherSchema):
    """A smash of your opponent."""

    contact = part(TheirSpotSchema, says="Where they smash. Absent: over the wing, as deep as usual.")
    wing = Word(Wing, says="Over which shoulder the lob came, where contact is absent.", default=Wing.FOREHAND)
    moving_back = Yes(says="Whether they move back as they smash; false: they are set.", default=True)
    speed_mps = number("smash", "moving_back_speed_mps", "Speed of the smash moving back; a set one is faster.")
    height_m = number("smash", "height_m", "Height of the contact.")


class LobSchema(SmasherSchema):
    """Your lob over an opponent at the net."""

    contact = part(ContactSchema, required=True, says="Where you strike it.")
    target = part(TheirSpotSchema, says="Where it is to land. Absent: deep, over the shoulder of `wing`.")
    wing = Word(Wing, says="Over which shoulder it goes, where target is absent.", default=Wing.BACKHAND)
    opponent = part(TheirSpotSchema, says="Where they stand. Absent: at the net, in the middle.")
    topspin_rpm = number("lob", "topspin_rpm", "Topspin of the lob; negative for slice.")
    racket_m = number("lob", "racket_m", "How high they reach with the racket.")
    over_m = number("lob", "over_m", "How far above the racket it is to pass.")


class CourtPositionQuestionSchema(OccasionSchema):
    """What to stand ready for: a ball of your opponent, a smash, or what follows your lob. Loads into PositionAsked."""

    ball = part(TheirBallSchema, says="Their ball from the ground. Absent: not asked for.")
    smash = part(SmashSchema, says="Their smash. Absent: not asked for.")
    lob = part(LobSchema, says="Your lob over them. Absent: not asked for.")
    at = Word(STANDS, says="Where you wait, where `line_y` is absent.", default="baseline")
    line_y = Real(-18, -0.5, says="Your own line: metres from the net, negative. Absent: as `at` says.")
    own = part(MovementSchema, says="How you move. Absent: as usual.")
    opponent = part(MovementSchema, says="How your opponent moves. Absent: as usual.")
    where = where_part()

    @validates_schema
    def some_ball(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse a question about nothing."""
        if not any(data.get(name) for name in ("ball", "smash", "lob")):
            raise ValidationError(SOME_BALL)

    @post_load
    def asked(self, data: dict[str, Any], **kwargs: Any) -> PositionAsked:
        """The body as it is calculated on."""
        return PositionAsked(
            occasion(data),
            where(data),
            mover_of(COURT_NUMBERS, data.get("own")),
            mover_of(COURT_NUMBERS, data.get("opponent")),
            _line(data),
            _ball(data["ball"]) if data.get("ball") else None,
            _smash(data["smash"]) if data.get("smash") else None,
            _lob(data["lob"]) if data.get("lob") else None,
        )


def smash_at(at: Spot, height: float, speed: float, hand: str, across: float) -> Smash:
    """A smash with our margin inside the lines."""
    return Smash((*at, height), speed, hand, across, usual(COURT_NUMBERS, "smash", "margin_m"))


def _line(data: Mapping[str, Any]) -> float:
    if data.get("line_y") is not None:
        return float(data["line_y"])
    if data.get("at") == "net":
        return -usual(COURT_NUMBERS, "stand", "net_distance_m")
    return -BASELINE_M - usual(COURT_NUMBERS, "stand", "behind_baseline_m")


def _ball(data: dict[str, Any]) -> BallAsked:
    speed, topspin, height = (
        said_or_usual(COURT_NUMBERS, "shot", name, data) for name in ("speed_mps", "topspin_rpm", "height_m")
    )
    return BallAsked(spot(data), speed, topspin, height, data.get("line_deep") is True)


def _across(data: Mapping[str, Any]) -> float:
    counted = data.get("across") or {"count": 0.0, "of": 0.0}
    prior = {"share": usual(COURT_NUMBERS, "smash", "across_share")}
    return across_chance({**prior, "smashes": usual(COURT_NUMBERS, "smash", "across_smashes")}, **counted)


def _smash(data: dict[str, Any]) -> Smash:
    name = "set_speed_mps" if data.get("moving_back") is False else "moving_back_speed_mps"
    posted = data.get("speed_mps")
    speed = usual(COURT_NUMBERS, "smash", name) if posted is None else float(posted)
    far = usual(COURT_NUMBERS, "smash", "from_net_m")
    at = spot(data["contact"]) if data.get("contact") else (_over(data, Wing.FOREHAND), far)
    return smash_at(at, said_or_usual(COURT_NUMBERS, "smash", "height_m", data), speed, data["hand"], _across(data))


def _over(data: Mapping[str, Any], usual_wing: Wing) -> float:
    """Where the shoulder of a wing is, x in metres: a right-hander's forehand lies on your left, as they face you."""
    side = -1.0 if data["hand"] == "right" else 1.0
    forehand = (data.get("wing") or usual_wing) == Wing.FOREHAND
    return (side if forehand else -side) * usual(COURT_NUMBERS, "smash", "side_m")


def _lob(data: dict[str, Any]) -> LobAsked:
    deep = BASELINE_M - usual(COURT_NUMBERS, "shot", "margin_m")
    target = spot(data["target"]) if data.get("target") else (_over(data, Wing.BACKHAND), deep)
    contact = (*spot(data["contact"]), said_or_usual(COURT_NUMBERS, "shot", "height_m", data["contact"]))
    topspin, racket, over = (
        said_or_usual(COURT_NUMBERS, "lob", name, data) for name in ("topspin_rpm", "racket_m", "over_m")
    )
    stands = spot(data["opponent"]) if data.get("opponent") else (0.0, usual(COURT_NUMBERS, "lob", "from_net_m"))
    shot = Shot(contact, target, usual(COURT_NUMBERS, "shot", "speed_mps"), topspin)
    return LobAsked(shot, stands, racket, over, data["hand"], _across(data))


def their_shot(ball: BallAsked, target: Spot) -> Shot:
    """A ball of your opponent as they see it."""
    return Shot((*turned(ball.spot), ball.height), turned(target), ball.speed, ball.topspin)
