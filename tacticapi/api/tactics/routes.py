"""GET /v1/tactics, /v1/tactics/{id} and /v1/tactics/{id}/picture."""

from typing import Any

from flask import Response

from tacticapi.advice.suggestions import place_of
from tacticapi.api.deployment import deployment
from tacticapi.api.nouns import Noun, answer
from tacticapi.api.offers import offers
from tacticapi.api.paging import listed, paged
from tacticapi.api.pictures.drawn import SVG, picture_answer
from tacticapi.api.problems import NOT_FOUND, refuse
from tacticapi.api.tactics.presenter import statuses, tactic_body
from tacticapi.api.tactics.schemas import HandsQuery, TacticPage, TacticSchema, TacticsQuery
from tacticapi.domain.place import Hands
from tacticapi.domain.terms import Wing
from tacticapi.pictures import tactic_picture

blueprint = Noun("tactics", "What can be advised.", of_the_rulebook=True)


@blueprint.route("/v1/tactics")
@blueprint.arguments(TacticsQuery, location="query")
@blueprint.response(200, TacticPage, description="One page of tactics.")
@blueprint.doc(operationId="listTactics")
def list_tactics(query: dict[str, Any]) -> Response:
    """List the tactics.

    By category, in rulebook order, each with its conditions in words, its worth and its sources.
    """
    rulebook = deployment().rulebook
    known = {status for tactic in rulebook.tactics.values() for status in statuses(tactic, rulebook)}
    category = listed(query, "category", rulebook.categories)
    status, risk = listed(query, "status", sorted(known)), query.get("risk")
    wanted = [
        tactic
        for tactic in rulebook.tactics.values()
        if category in (None, tactic.category)
        and risk in (None, tactic.risk)
        and (status is None or status in statuses(tactic, rulebook))
    ]
    return paged(wanted, query, lambda tactic: tactic.id, lambda tactic: tactic_body(tactic, rulebook))


@blueprint.route("/v1/tactics/<tactic_id>")
@blueprint.response(200, TacticSchema, description="The tactic.")
@blueprint.doc(operationId="getTactic")
def get_tactic(tactic_id: str) -> Response:
    """Get one tactic.

    A retired tactic is still served, with what to use instead.
    """
    rulebook = deployment().rulebook
    if tactic_id not in rulebook.tactics:
        refuse(NOT_FOUND, "no tactic has this id")
    return answer(tactic_body(rulebook.tactics[tactic_id], rulebook))


@blueprint.route("/v1/tactics/<tactic_id>/picture")
@blueprint.arguments(HandsQuery, location="query")
@blueprint.response(200, description="The court, with a title and a text alternative in it.")
@blueprint.doc(operationId="drawTactic", responses={200: {"content": {SVG: {"schema": {"type": "string"}}}}})
@offers(SVG)
def draw_tactic(query: dict[str, Any], tactic_id: str) -> Response:
    """Draw where a tactic happens on the court.

    Targets, where to stand, the ways of ball and players: for these hands and, where the tactic aims at a wing, for
    that wing. Places are model defaults, not measured. Not found (404) for a tactic without a place.
    """
    rulebook = deployment().rulebook
    if tactic_id not in rulebook.tactics:
        refuse(NOT_FOUND, "no tactic has this id")
    wing = query.get("wing")
    hands = Hands(query.get("own"), query.get("opponent"), Wing(wing) if wing else None)
    place = place_of(tactic_id, hands, rulebook)
    if place is None:
        refuse(NOT_FOUND, "this tactic has no place on the court")
    return picture_answer(tactic_picture(place, hands, title=rulebook.tactics[tactic_id].title))
