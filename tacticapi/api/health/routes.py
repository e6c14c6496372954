"""GET /livez and /readyz."""

from flask import Response

from tacticapi.api.deployment import deployment
from tacticapi.api.health.schemas import LiveSchema, ReadySchema
from tacticapi.api.nouns import Noun, answer
from tacticapi.api.problems import NOT_READY, refuse
from tacticapi.club import check

blueprint = Noun("health", "For whoever runs the service.")

IN_PLACE = "the rule engine is not used, or its last call failed; the evaluator gives the same answers in its place"


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

    The rulebook is loaded, and the rule engine or the evaluator in its place matches it; a warning says where the
    evaluator stands in. Where clubs are kept, the database answers and has the schema of this version.
    """
    adviser, services = deployment().adviser, deployment().services
    if services is not None and (complaint := check(services.engine.url.render_as_string(hide_password=False))):
        refuse(NOT_READY, complaint)
    matcher = adviser.matcher
    return answer(
        {
            "status": "ready",
            "rulebook": {"version": adviser.rulebook.version, "digest": adviser.rulebook.digest},
            "engine": matcher.engine_name if matcher.healthy else "evaluator",
            "database": services.engine.dialect.name if services else None,
            "warnings": [] if matcher.healthy else [IN_PLACE],
        }
    )
