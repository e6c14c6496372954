"""Routes for calculations on scores, serves, shots, positions and gaps, using a model with default court numbers."""

from collections.abc import Callable
from functools import partial
from typing import Any

from flask import Response

from tacticapi.advice.safety import withheld
from tacticapi.api.calculations import court_position, gap, score, serve_mix, shot_margin
from tacticapi.api.calculations.court_drawn import drawn_gap, drawn_margin, drawn_position
from tacticapi.api.calculations.parts import CalculationSchema, Question
from tacticapi.api.http.blueprint import JSON, SVG, Blueprint, answer, offers, picture_answer, wanted
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.problems import refuse
from tacticapi.court.shot import OutOfReachError
from tacticapi.rulebook.files import Fault

blueprint = Blueprint("calculations", closable="advise", costly=True)
FORMS = (JSON, SVG)


@blueprint.post("/v1/calculations/win-chance")
@blueprint.arguments(score.WinChanceQuestionSchema)
@blueprint.response(200, score.WinChanceSchema, description="The chances.")
def calculate_win_chance(query: Question) -> Response:
    """Calculate your chances of winning the match, the set and the game from a score.

    The chances are exact if points are independent given the server. Post exact point chances, or the points played.
    With points played, each chance is a mean with 10th and 90th percentiles; it starts from a prior for the level gap,
    a model default. If the server is unknown, both cases are averaged.
    """
    return _scored(query, score.WinChanceSchema, score.win_chance)


@blueprint.post("/v1/calculations/importance")
@blueprint.arguments(score.ImportanceQuestionSchema)
@blueprint.response(200, score.ImportanceTableSchema, description="The importance of each point.")
def calculate_importance(query: Question) -> Response:
    """Calculate how much each point in the current game or tie-break matters.

    The importance of a point is your chance of winning if you win it minus your chance if you lose it; it is the same
    for both players. A score must say who serves.
    """
    return _scored(query, score.ImportanceTableSchema, score.importance)


@blueprint.post("/v1/calculations/serve-mix")
@blueprint.arguments(serve_mix.ServeMixQuestionSchema)
@blueprint.response(200, serve_mix.ServeMixSchema, description="The mix.")
def calculate_serve_mix(query: Question) -> Response:
    """Calculate how often to serve to each spot, and whether your serves so far are predictable.

    For each court, the response gives the mix that wins the most points against a receiver who adapts to it, and an
    unpredictable order for the next ten serves. Numbers that you did not count are model defaults.
    """
    mixes = partial(serve_mix.mixes, query, deployment().rulebook.defaults)
    return answer(serve_mix.ServeMixSchema.framed(query, mixes, (serve_mix.DEFAULTS,)))


@blueprint.post("/v1/calculations/shot-margin")
@blueprint.arguments(shot_margin.ShotMarginQuestionSchema)
@blueprint.response(200, shot_margin.ShotMarginSchema, description="The chances.")
@offers(*FORMS)
def calculate_shot_margin(query: Question) -> Response:
    """Calculate how risky a shot is, where to aim instead, and the same ball to the other side.

    Balls are simulated with drag, spin and gravity, and scattered by the player's spread, which comes from a level, is
    posted in degrees, or is estimated from counts. With Accept: image/svg+xml, the response is a picture of the court.
    """
    return _answered(query, shot_margin.ShotMarginSchema, shot_margin.margin_result, drawn_margin)


@blueprint.post("/v1/calculations/court-position")
@blueprint.arguments(court_position.CourtPositionQuestionSchema)
@blueprint.response(200, court_position.CourtPositionSchema, description="The place to stand.")
@offers(*FORMS)
def calculate_court_position(query: Question) -> Response:
    """Calculate where to stand for your opponent's ball.

    The position is on the bisector of the angle between their two widest balls. The response also says what you give
    away by covering the line. With Accept: image/svg+xml, it is a picture of the court.
    """
    return _answered(query, court_position.CourtPositionSchema, court_position.position_result, drawn_position)


@blueprint.post("/v1/calculations/gap")
@blueprint.arguments(gap.GapQuestionSchema)
@blueprint.response(200, gap.GapResultSchema, description="The gap.")
@offers(*FORMS)
def calculate_gap(query: Question) -> Response:
    """Calculate how big a gap beats your opponent, and how many balls each pattern takes to open it.

    The model compares how far they can run while the ball is in flight with how far from them it passes. Keep playing
    to their strong side until the gap is wider than they can cover, or their ball is short. With Accept: image/svg+xml,
    the response is a picture of the court.
    """
    return _answered(query, gap.GapResultSchema, gap.gap_result, drawn_gap)


def _scored(query: Question, shape: type[CalculationSchema], calculate: Callable[..., Any]) -> Response:
    defaults = deployment().rulebook.defaults
    return answer(shape.framed(query, partial(calculate, query, defaults), score.notices(query, defaults)))


def _answered(
    query: Question, shape: type[CalculationSchema], calculate: Callable[[Question], Any], draw: Callable[[Any], str]
) -> Response:
    """Respond in the requested form. If the ball cannot reach its target, refuse it and name the member at fault."""
    try:
        if wanted(*FORMS) == SVG:
            if why := withheld(query):
                refuse("not-permitted-now", why)
            response = picture_answer(draw(calculate(query)))
        else:
            response = answer(shape.framed(query, partial(calculate, query)))
    except OutOfReachError as error:
        away = f"{error.shortest:.1f} to {error.longest:.1f} m away"
        expected = f"a speed at which the ball reaches its target; at this speed it lands {away}"
        refuse("invalid-situation", faults=[Fault(("speed_mps",), query.shot.speed, expected)])
    response.vary.add("Accept")
    return response
