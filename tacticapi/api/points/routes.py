"""/v1/matches/{match_id}/points: add, list, get."""

from typing import Any

from flask import Response

from tacticapi.api.entries import entries_page, entry_answer, made, receipt_body, written
from tacticapi.api.nouns import IDEMPOTENCY_KEY, IF_NONE_MATCH, LOCATED, KeptNoun
from tacticapi.api.paging import KeptPageQuery
from tacticapi.api.points.schemas import NewPointSchema, PointPage, PointSchema, ScoredSchema
from tacticapi.club import scorekeeping

blueprint = KeptNoun("points", "Points of a match; the score follows from them.")


@blueprint.route("/v1/matches/<id:match_id>/points", methods=["POST"])
@blueprint.needs("observe", IDEMPOTENCY_KEY)
@blueprint.arguments(NewPointSchema)
@blueprint.response(201, ScoredSchema, description="A receipt and the score.", headers=LOCATED)
@blueprint.doc(operationId="addPoint")
def add_point(posted: dict[str, Any], match_id: str) -> Response:
    """Add who won the next point, or set the score by hand.

    The answer holds the score after it. An entry with `supersedes` corrects another, and all later points are played
    on from it; one with `withdraws` takes it back. A point that cannot follow is refused. With an Idempotency-Key,
    what is sent again is added once.
    """
    scored = written(match_id, posted, scorekeeping.add_point, scorekeeping.withdraw_point)
    return made({**receipt_body(scored), "score": scored.score, "winner": scored.winner})


@blueprint.route("/v1/matches/<id:match_id>/points")
@blueprint.needs("read", IF_NONE_MATCH)
@blueprint.arguments(KeptPageQuery, location="query")
@blueprint.response(200, PointPage, description="One page of points.")
@blueprint.doc(operationId="listPoints")
def list_points(query: dict[str, Any], match_id: str) -> Response:
    """List the points of a match.

    In the order in which they were added, superseded and withdrawing ones included.
    """
    return entries_page(match_id, query, "points", "point")


@blueprint.route("/v1/matches/<id:match_id>/points/<id:entry_id>")
@blueprint.needs("read")
@blueprint.response(200, PointSchema, description="The point.")
@blueprint.doc(operationId="getPoint")
def get_point(match_id: str, entry_id: str) -> Response:
    """Get one point of a match.

    As it was entered, also where another has superseded it.
    """
    return entry_answer(match_id, entry_id, "points", "point")
