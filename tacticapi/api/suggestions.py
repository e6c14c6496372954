"""Routes for advice on one posted situation, and for its explanation with the full trace. Nothing is stored."""

import uuid
from dataclasses import replace
from typing import Any

from flask import Response
from marshmallow import fields
from marshmallow.validate import Length

from tacticapi.advice import Trace
from tacticapi.advice.explain import WhyNot
from tacticapi.api.advice import OF_ADVICE, PROFILE, AdviceSchema, Include, advice_body
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import here, require
from tacticapi.api.http.blueprint import Blueprint, answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.problems import refuse
from tacticapi.api.situations import SituationSchema
from tacticapi.club import Refused
from tacticapi.club.dossier import begun, told_apart
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import Fact
from tacticapi.domain.situation import Situation
from tacticapi.rulebook.files import Fault

SCOPE = "advise"


def advised(posted: Situation, *, profile: bool) -> Advice:
    """Return advice on a posted situation. If the caller's club does not have the opponent, end the request."""
    asked, notices = _begun(posted)
    return told_apart(deployment().adviser.recommend(asked, profile=profile), asked, notices)


def traced(posted: Situation, tactic: str | None) -> Trace:
    """Return the advice with its trace. Raises KeyError for an unknown tactic."""
    asked, notices = _begun(posted)
    trace = deployment().adviser.trace(asked, tactic)
    return replace(trace, advice=told_apart(trace.advice, asked, notices))


def _begun(posted: Situation) -> tuple[Situation, tuple[str, ...]]:
    if posted.opponent_id is None:
        return posted, ()
    require(SCOPE)
    try:
        return begun(*here(), posted)
    except Refused as refused:
        refuse("not-found", faults=refused.faults)


blueprint = Blueprint("suggestions", closable="advise")


@blueprint.post("/v1/suggestions")
@blueprint.arguments(SituationSchema)
@blueprint.query(include=Include())
@blueprint.response(200, AdviceSchema, description="The advice.")
def suggest(situation: Situation, query: dict[str, Any]) -> Response:
    """Advise on a situation.

    Post what was seen. The response contains ranked suggestions, with reasons in counts, what each is worth, when to
    check again, and the source. Nothing is stored. The same body and rulebook always produce the same advice, except
    for `advice_id`. If the situation names a stored opponent, evidence from earlier matches counts too, and is marked.
    Safety comes before tactics. If the event does not permit coaching or a device now, only safety advice and a notice
    are shown.
    """
    include = query.get("include", ())
    return answer(advice_body(advised(situation, profile=PROFILE in include), str(uuid.uuid4()), include))


class FiredSchema(wire.Answer):
    """A rule that fired."""

    rule = wire.a_text("Rule id: tactic, candidate, unless or circumstance; id; number of alternative.", of="0.rule")
    facts = wire.texts("Ids of the matched facts, in the order of its conditions.", of="0.facts")
    derives = wire.a_text("The rule's conclusion.", absent=True, of=lambda fired: fired[1].rules[fired[0].rule].derives)


class ExplanationSchema(AdviceSchema):
    """The advice with its full trace."""

    engine = wire.a_text("The engine that matched the rules: durable-rules or the evaluator.", of="inference.engine")
    facts = wire.a_list(wire.shape_of(Fact), "All facts, including derived ones.")
    fired = wire.a_list(
        FiredSchema, "All rules that fired.", of=lambda trace: [(match, trace) for match in trace.inference.matches]
    )
    why = wire.a_list(
        wire.shape_of(WhyNot, "TacticVerdict"),
        "Why the requested tactic, or each tactic, was suggested or not.",
        of="questions",
    )


@blueprint.post("/v1/explanations")
@blueprint.arguments(SituationSchema)
@blueprint.query(
    tactic=fields.String(
        validate=Length(1, 100, error="the id of a tactic"),
        metadata={"description": "Id of the tactic to explain. Default: all."},
    )
)
@blueprint.response(200, ExplanationSchema, description="The advice and its trace.")
def explain(situation: Situation, query: dict[str, Any]) -> Response:
    """Explain the advice on a situation.

    The body is the same as for suggestions. The response adds each fact, each rule that fired with the facts that it
    matched and, for one tactic or for all, why it was suggested or which condition it failed most narrowly. If only
    safety advice may be shown, only that is traced.
    """
    tactic = query.get("tactic")
    if tactic is not None and tactic not in deployment().rulebook.tactics:
        refuse("invalid-query", faults=[Fault(("tactic",), tactic, "the id of a tactic, see /v1/tactics")])
    trace = traced(situation, tactic)
    advice = advice_body(trace.advice, str(uuid.uuid4()))
    return answer({**advice, **ExplanationSchema.written(trace, without=OF_ADVICE)})
