"""GET /livez and /readyz."""

from flask import Response

from tacticapi.api.deployment import deployment
from tacticapi.api.health.schemas import LiveSchema, ReadySchema
from tacticapi.api.nouns import Noun, answer
from tacticapi.api.problems import NOT_READY, refuse

blueprint = Noun("health", "For whoever runs the service.")

IN_PLACE = "the rule engine is not used or failed last; the evaluator answers in its place, with the same answers"


@blueprint.route("/livez")
@blueprint.response(200, LiveSchema, description="The process answers.")
@blueprint.doc(operationId="isAlive")
def livez() -> Response:
    """Say whether the process answers.

    Touches neither rules nor engine.
    """
    return answer({"status": "alive"})


@blueprint.route("/readyz")
@blueprint.response(200, ReadySchema, description="The service can advise.")
@blueprint.doc(operationId="isReady")
def readyz() -> Response:
    """Say whether the service can advise.

    The rulebook is loaded, and the rule engine or the evaluator in its place matches it. A warning says where the
    evaluator stands in.
    """
    adviser = deployment().adviser
    if not adviser.rulebook.tactics:
        refuse(NOT_READY, "the rulebook holds no tactics")
    matcher = adviser.matcher
    return answer(
        {
            "status": "ready",
            "rulebook": {"version": adviser.rulebook.version, "digest": adviser.rulebook.digest},
            "engine": matcher.engine_name if matcher.healthy else "evaluator",
            "warnings": [] if matcher.healthy else [IN_PLACE],
        }
    )
