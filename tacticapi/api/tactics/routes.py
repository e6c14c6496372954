"""GET /v1/tactics and /v1/tactics/{id}."""

from typing import Any

from flask import Response

from tacticapi.api.deployment import deployment
from tacticapi.api.nouns import Noun, answer
from tacticapi.api.paging import listed, paged
from tacticapi.api.problems import NOT_FOUND, refuse
from tacticapi.api.tactics.presenter import statuses, tactic_body
from tacticapi.api.tactics.schemas import TacticPage, TacticSchema, TacticsQuery

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
