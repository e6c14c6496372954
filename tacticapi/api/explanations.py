"""POST /v1/explanations: advice with the whole trace behind it: facts, fired rules, why and why not."""

import uuid
from typing import Any

from flask import Response
from marshmallow import fields
from marshmallow.validate import Length

from tacticapi.advice import Trace
from tacticapi.api.http.blueprint import Blueprint, answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import Answer, Shape, a_list, a_place, a_text, a_word, texts
from tacticapi.api.http.problems import INVALID_QUERY, refuse
from tacticapi.api.situations import SituationSchema
from tacticapi.api.suggestions import AdviceSchema, advice_body, traced
from tacticapi.domain.firing import RuleMatch
from tacticapi.domain.situation import Situation
from tacticapi.domain.tactic import FactKind
from tacticapi.rulebook.files import Fault

VERDICTS = ("suggested", "held-back", "not-shown", "no-match")


class ExplanationQuery(Shape):
    """What is asked about."""

    tactic = fields.String(
        validate=Length(1, 100, error="the id of a tactic"),
        metadata={"description": "Id of the tactic asked about. Absent: all of them."},
    )


class FactSchema(Answer):
    """One fact that the rules were matched against."""

    id = a_text("Its id within this answer.")
    kind = a_word(FactKind, "What it speaks of.")
    name = a_text("Its name.")
    fields_ = fields.Dict(
        keys=fields.String(),
        required=True,
        data_key="fields",
        metadata={"description": "Whole numbers and words; a probability or share stands in thousandths."},
    )
    observations = a_list(a_place("A place in the posted list."), "The observations that it rests on.")


class FiredSchema(Answer):
    """A rule that fired."""

    rule = a_text(
        "Id of the rule: tactic, candidate, unless or circumstance, the id, and the number of the alternative.",
        of=lambda fired: fired[0].rule,
    )
    facts = texts("Ids of the facts that it matched, in the order of its conditions.", of=lambda fired: fired[0].facts)
    derives = a_text(
        "The circumstance that it proves.", null=True, of=lambda fired: fired[1].rules[fired[0].rule].derives
    )


class WhySchema(Answer):
    """Why a tactic was suggested, or why not."""

    tactic = a_text("Id of the tactic.")
    verdict = a_word(VERDICTS, "What became of it.")
    why = a_text("The reason in words.")
    unmet = texts("What its nearest alternative still needs.")
    chain = texts("From the rule that fired back to what was posted.")


def _fired(trace: Trace) -> list[tuple[RuleMatch, Trace]]:
    return [(match, trace) for match in trace.inference.matches]


class ExplanationSchema(AdviceSchema):
    """The advice and everything behind it."""

    engine = a_text("What matched the rules: durable-rules, or the evaluator in its place.", of="inference.engine")
    facts = a_list(FactSchema, "Every fact, derived ones included.")
    fired = a_list(FiredSchema, "Every rule that fired.", of=_fired)
    why = a_list(WhySchema, "For the tactic asked about, or for all: why or why not.", of="questions")


blueprint = Blueprint("explanations", "Why, and why not.", closable="advise")


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
    return answer(explanation_body(traced(situation, tactic)))


def explanation_body(trace: Trace) -> dict[str, Any]:
    """Return the JSON of the advice with everything behind it."""
    return ExplanationSchema.written(trace, **advice_body(trace.advice, str(uuid.uuid4())))
