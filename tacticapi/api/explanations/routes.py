"""POST /v1/explanations."""

import uuid
from typing import Any

from flask import Response

from tacticapi.api.deployment import deployment
from tacticapi.api.explanations.presenter import explanation_body
from tacticapi.api.explanations.schemas import ExplanationQuery, ExplanationSchema
from tacticapi.api.nouns import Noun, answer
from tacticapi.api.problems import INVALID_QUERY, refuse
from tacticapi.api.situations.known import traced
from tacticapi.api.situations.schemas import SituationSchema
from tacticapi.domain.situation import Situation
from tacticapi.knowledge import Fault

blueprint = Noun("explanations", "Why, and why not.", closable="advise")


@blueprint.route("/v1/explanations", methods=["POST"])
@blueprint.arguments(SituationSchema)
@blueprint.arguments(ExplanationQuery, location="query")
@blueprint.response(200, ExplanationSchema, description="The advice and its trace.")
@blueprint.doc(operationId="explain")
def explain(situation: Situation, query: dict[str, Any]) -> Response:
    """Explain the advice on a situation.

    The same body as for suggestions. The answer adds each fact, each rule that fired with the facts that it matched,
    and for one tactic, or for all, why it was suggested or what is the nearest thing that kept it from speaking.
    Nothing but safety is traced where nothing but safety may be shown.
    """
    tactic = query.get("tactic")
    if tactic is not None and tactic not in deployment().rulebook.tactics:
        refuse(INVALID_QUERY, faults=[Fault(("tactic",), tactic, "the id of a tactic, see /v1/tactics")])
    return answer(explanation_body(traced(situation, tactic), str(uuid.uuid4())))
