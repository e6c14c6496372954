"""Advice for one situation, nothing kept; as an explanation with the whole trace behind it."""

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
from tacticapi.api.http.problems import INVALID_QUERY, NOT_FOUND, refuse
from tacticapi.api.situations import SituationSchema
from tacticapi.club import Refused
from tacticapi.club.dossier import begun, told_apart
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import Fact, RuleMatch
from tacticapi.domain.situation import Situation
from tacticapi.rulebook.files import Fault

SCOPE = "advise"


def advised(posted: Situation, *, profile: bool) -> Advice:
    """Return the advice on a posted situation. Ends the request for an opponent unknown to the caller's club."""
    asked, notices = _begun(posted)
    return told_apart(deployment().adviser.recommend(asked, profile=profile), asked, notices)


def traced(posted: Situation, tactic: str | None) -> Trace:
    """Return the same with its trace. Raises KeyError for an unknown tactic."""
    asked, notices = _begun(posted)
    trace = deployment().adviser.trace(asked, tactic)
    return replace(trace, advice=told_apart(trace.advice, asked, notices))


def _begun(posted: Situation) -> tuple[Situation, tuple[str, ...]]:
    """Look up the opponent; without one the database is not asked."""
    if posted.opponent_id is None:
        return posted, ()
    require(SCOPE)
    try:
        return begun(*here(), posted)
    except Refused as refused:
        refuse(NOT_FOUND, faults=refused.faults)


blueprint = Blueprint("suggestions", closable="advise")


@blueprint.route("/v1/suggestions", methods=["POST"])
@blueprint.arguments(SituationSchema)
@blueprint.query(include=Include())
@blueprint.response(200, AdviceSchema, description="The advice.")
def suggest(situation: Situation, query: dict[str, Any]) -> Response:
    """Advise on a situation.

    Post what was seen; get ranked suggestions with reasons in counts, what each is worth, when to look again and who
    says so. Nothing is kept. The same body and rulebook give the same advice, `advice_id` aside. Where it names a kept
    opponent, what was learned in earlier matches counts too and is marked as such. Safety comes before tactics. Where
    the event does not permit coaching or a device at this moment, only safety and a notice are shown.
    """
    include = query.get("include", ())
    return answer(advice_body(advised(situation, profile=PROFILE in include), str(uuid.uuid4()), include))


class FiredSchema(wire.Answer):
    """A rule that fired."""

    rule = wire.a_text("Its id: tactic, candidate, unless or circumstance, id, number of the alternative.", of="0.rule")
    facts = wire.texts("Ids of the facts that it matched, in the order of its conditions.", of="0.facts")
    derives = wire.a_text("What it proves.", absent=True, of=lambda fired: fired[1].rules[fired[0].rule].derives)


def _fired(trace: Trace) -> list[tuple[RuleMatch, Trace]]:
    return [(match, trace) for match in trace.inference.matches]


class ExplanationSchema(AdviceSchema):
    """The advice and everything behind it."""

    engine = wire.a_text("What matched the rules: durable-rules or the evaluator.", of="inference.engine")
    facts = wire.a_list(wire.shape_of(Fact), "Every fact, derived ones included.")
    fired = wire.a_list(FiredSchema, "Every rule that fired.", of=_fired)
    why = wire.a_list(
        wire.shape_of(WhyNot, "TacticVerdict"),
        "For the tactic asked about, or for all: why or why not.",
        of="questions",
    )


@blueprint.route("/v1/explanations", methods=["POST"])
@blueprint.arguments(SituationSchema)
@blueprint.query(
    tactic=fields.String(
        validate=Length(1, 100, error="the id of a tactic"),
        metadata={"description": "Id of the tactic asked about. Default: all of them."},
    )
)
@blueprint.response(200, ExplanationSchema, description="The advice and its trace.")
def explain(situation: Situation, query: dict[str, Any]) -> Response:
    """Explain the advice on a situation.

    The same body as for suggestions. The answer adds each fact, each rule that fired with the facts that it matched,
    and for one tactic, or for all, why it was suggested or what is the nearest thing that kept it from speaking.
    Only safety is traced if only safety may be shown.
    """
    tactic = query.get("tactic")
    if tactic is not None and tactic not in deployment().rulebook.tactics:
        refuse(INVALID_QUERY, faults=[Fault(("tactic",), tactic, "the id of a tactic, see /v1/tactics")])
    trace = traced(situation, tactic)
    advice = advice_body(trace.advice, str(uuid.uuid4()))
    return answer({**advice, **ExplanationSchema.written(trace, without=OF_ADVICE)})
