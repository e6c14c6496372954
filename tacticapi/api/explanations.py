"""POST /v1/explanations: advice with the whole trace behind it: facts, fired rules, why and why not."""

import uuid
from typing import Any

from flask import Response
from marshmallow import fields
from marshmallow.validate import Length

from tacticapi.advice import Trace
from tacticapi.api.http.blueprint import Blueprint, answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import Shape, a_list, a_place, a_text, a_word
from tacticapi.api.http.problems import INVALID_QUERY, refuse
from tacticapi.api.situations import SituationSchema
from tacticapi.api.suggestions import AdviceSchema, advice_body, traced
from tacticapi.domain.firing import Fact, Match
from tacticapi.domain.situation import Situation
from tacticapi.domain.tactic import FactKind
from tacticapi.knowledge import Fault

VERDICTS = ("suggested", "held-back", "not-shown", "no-match")


class ExplanationQuery(Shape):
    """What is asked about."""

    tactic = fields.String(
        validate=Length(1, 100, error="the id of a tactic"),
        metadata={"description": "Id of the tactic asked about. Absent: all of them."},
    )


class FactSchema(Shape):
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


class FiredSchema(Shape):
    """A rule that fired."""

    rule = a_text(
        "Id of the rule: tactic, candidate, unless or circumstance, the id, and the number of the alternative."
    )
    facts = a_list(fields.String(), "Ids of the facts that it matched, in the order of its conditions.")
    derives = a_text("The circumstance that it proves.", null=True)


class WhySchema(Shape):
    """Why a tactic was suggested, or why not."""

    tactic = a_text("Id of the tactic.")
    verdict = a_word(VERDICTS, "What became of it.")
    why = a_text("The reason in words.")
    unmet = a_list(fields.String(), "What its nearest alternative still needs.")
    chain = a_list(fields.String(), "From the rule that fired back to what was posted.")


class ExplanationSchema(AdviceSchema):
    """The advice and everything behind it."""

    engine = a_text("What matched the rules: durable-rules, or the evaluator in its place.")
    facts = a_list(FactSchema, "Every fact, derived ones included.")
    fired = a_list(FiredSchema, "Every rule that fired.")
    why = a_list(WhySchema, "For the tactic asked about, or for all: why or why not.")


def explanation_body(trace: Trace, advice_id: str) -> dict[str, Any]:
    """The advice, then everything behind it."""
    return {
        **advice_body(trace.advice, advice_id),
        "engine": trace.inference.engine,
        "facts": [_fact(fact) for fact in trace.facts],
        "fired": [_fired(match, trace) for match in trace.inference.matches],
        "why": [
            {
                "tactic": question.tactic,
                "verdict": question.verdict,
                "why": question.why,
                "unmet": list(question.unmet),
                "chain": list(question.chain),
            }
            for question in trace.questions
        ],
    }


def _fact(fact: Fact) -> dict[str, Any]:
    return {
        "id": fact.id,
        "kind": fact.kind.value,
        "name": fact.name,
        "fields": dict(fact.fields),
        "observations": list(fact.observations),
    }


def _fired(match: Match, trace: Trace) -> dict[str, Any]:
    return {"rule": match.rule, "facts": list(match.facts), "derives": trace.rules[match.rule].derives}


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
    return answer(explanation_body(traced(situation, tactic), str(uuid.uuid4())))
