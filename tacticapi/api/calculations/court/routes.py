"""POST /v1/calculations/shot-margin, /court-position and /gap: as JSON, or as a picture of the court."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from flask import Response

from tacticapi.advice.safety import withheld
from tacticapi.api.calculations.court.answers import CourtPositionSchema, GapSchema, ShotMarginSchema
from tacticapi.api.calculations.court.bodies import court_position_body, gap_answer_body, shot_margin_body
from tacticapi.api.calculations.court.drawn import drawn_gap, drawn_margin, drawn_position
from tacticapi.api.calculations.court.gap import gap_told
from tacticapi.api.calculations.court.gap_body import GapAsked, GapQuestionSchema
from tacticapi.api.calculations.court.margin import margin_told
from tacticapi.api.calculations.court.margin_body import MarginAsked, ShotMarginQuestionSchema
from tacticapi.api.calculations.court.position import position_told
from tacticapi.api.calculations.court.position_body import CourtPositionQuestionSchema, PositionAsked
from tacticapi.api.deployment import deployment
from tacticapi.api.nouns import Noun, answer
from tacticapi.api.offers import JSON, offers, wanted
from tacticapi.api.pictures.drawn import SVG, picture_answer
from tacticapi.api.problems import INVALID_SITUATION, NOT_PERMITTED_NOW, refuse
from tacticapi.court import NoLobError, OutOfReachError
from tacticapi.knowledge import Fault

blueprint = Noun(
    "court-calculations", "What a model makes of a shot, a stand or a gap. Nothing is kept.", closable="advise"
)
FORMS = (JSON, SVG)
_DRAWN: dict[str, Any] = {
    "responses": {200: {"content": {SVG: {"schema": {"type": "string"}}}}, 403: "FORBIDDEN"},
}
Asked = TypeVar("Asked", MarginAsked, PositionAsked, GapAsked)
Told = TypeVar("Told")


@blueprint.route("/v1/calculations/shot-margin", methods=["POST"])
@blueprint.arguments(ShotMarginQuestionSchema)
@blueprint.response(200, ShotMarginSchema, description="The chances.")
@blueprint.doc(operationId="calculateShotMargin", **_DRAWN)
@offers(*FORMS)
def calculate_shot_margin(asked: MarginAsked) -> Response:
    """Calculate how risky a shot is, where to aim instead, and the same ball to the other side.

    Balls are flown with drag, spin and gravity, scattered by the player's spread: that of a level, posted in degrees,
    or estimated from counts. With Accept: image/svg+xml the answer is a picture of the court. A model's calculation,
    no promise, and not for betting. During a match, say `moment` and `context`: where the event does not permit it,
    only the notice stands, and there is no picture (403).
    """
    return _answered(asked, shot_margin_body, margin_told, drawn_margin)


@blueprint.route("/v1/calculations/court-position", methods=["POST"])
@blueprint.arguments(CourtPositionQuestionSchema)
@blueprint.response(200, CourtPositionSchema, description="The places to stand.")
@blueprint.doc(operationId="calculateCourtPosition", **_DRAWN)
@offers(*FORMS)
def calculate_court_position(asked: PositionAsked) -> Response:
    """Calculate where to stand for their ball, for their smash, or after your lob.

    For a ball the line that halves the angle of all they can play, and what covering the line gives away; for a smash
    the place that reaches most of it, across the body or the other way; for a lob how it must leave and whether they
    can still smash it. With Accept: image/svg+xml the answer is a picture of the first part asked for. A model's
    calculation, no promise, and not for betting. During a match, say `moment` and `context`: where the event does not
    permit it, only the notice stands, and there is no picture (403).
    """
    return _answered(asked, court_position_body, position_told, drawn_position)


@blueprint.route("/v1/calculations/gap", methods=["POST"])
@blueprint.arguments(GapQuestionSchema)
@blueprint.response(200, GapSchema, description="The gap.")
@blueprint.doc(operationId="calculateGap", **_DRAWN)
@offers(*FORMS)
def calculate_gap(asked: GapAsked) -> Response:
    """Calculate how big a gap beats your opponent, and which pattern opens it in how many balls.

    What they cover while the ball flies, against where it passes them: until the gap exceeds that number, or the ball
    is short, keep to the strong side. With Accept: image/svg+xml the answer is a picture of the court. A model's
    calculation, no promise, and not for betting. During a match, say `moment` and `context`: where the event does not
    permit it, only the notice stands, and there is no picture (403).
    """
    return _answered(asked, gap_answer_body, gap_told, drawn_gap)


def _answered(
    asked: Asked,
    as_body: Callable[[Asked, Mapping[str, Any]], dict[str, Any]],
    calculate: Callable[[Asked], Told],
    as_picture: Callable[[Told], str],
) -> Response:
    """The answer in the form that is wanted; a ball that cannot be struck so is refused with the place of its fault."""
    try:
        if wanted(*FORMS) == SVG:
            if why := withheld(asked.occasion):
                refuse(NOT_PERMITTED_NOW, why)
            response = picture_answer(as_picture(calculate(asked)))
        else:
            response = answer(as_body(asked, deployment().rulebook.defaults))
    except OutOfReachError as error:
        refuse(INVALID_SITUATION, faults=[_too_slow(asked, error)])
    except NoLobError:
        expected = "a place over which a lob can pass and still land on its target"
        refuse(INVALID_SITUATION, faults=[Fault(("lob", "opponent"), None, expected)])
    response.vary.add("Accept")
    return response


def _too_slow(asked: MarginAsked | PositionAsked | GapAsked, error: OutOfReachError) -> Fault:
    """Where to look for a ball that cannot get to its target."""
    away = f"{error.shortest:.1f} to {error.longest:.1f} m away"
    expected = f"a speed at which the ball gets to its target; at this one it lands {away}"
    if isinstance(asked, PositionAsked):
        return Fault(("smash", "speed_mps"), asked.smash and asked.smash.speed, expected)
    return Fault(("speed_mps",), asked.shot.speed, expected)
