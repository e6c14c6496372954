"""Routes for the operator: liveness, readiness and metrics."""

import hmac

from flask import Response, current_app
from prometheus_client import CONTENT_TYPE_LATEST

from tacticapi.api.advice import RulebookRefSchema
from tacticapi.api.http.access import REALM, bearer, from_this_machine
from tacticapi.api.http.blueprint import TEXT, Blueprint, answer, offers
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import Shape, a_part, a_word, texts
from tacticapi.api.http.metrics import EXTENSION
from tacticapi.api.http.problems import refuse
from tacticapi.club import check


class LiveSchema(Shape):
    """The process responds."""

    status = a_word(("alive",), "Always alive.")


class ReadySchema(Shape):
    """The service can advise."""

    status = a_word(("ready",), "Always `ready`; otherwise the response is 503.")
    rulebook = a_part(RulebookRefSchema)
    engine = a_word(("durable-rules", "evaluator"), "The engine that matches the rules.")
    database = a_word(("sqlite", "postgresql"), "The database; absent if none is configured.", absent=True)
    warnings = texts("Warnings for the operator.")


blueprint = Blueprint("health")

IN_PLACE = "the rule engine is not used or its last call failed; the evaluator gives the same advice"


@blueprint.route("/livez")
@blueprint.response(200, LiveSchema, description="The process responds.")
def is_alive() -> Response:
    """Check whether the process responds.

    The check uses neither the rules nor the rule engine.
    """
    return answer({"status": "alive"})


@blueprint.route("/readyz")
@blueprint.response(200, ReadySchema, description="The service can advise.")
def is_ready() -> Response:
    """Check whether the service can advise.

    It needs the rulebook and the rule engine; if the evaluator replaces the engine, a warning says so. If a database is
    configured, it must respond and have this version's schema.
    """
    adviser, services = deployment().adviser, deployment().services
    if services is not None and (fault := check(services.engine.url.render_as_string(hide_password=False))):
        refuse("not-ready", fault)
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


@blueprint.route("/metrics")
@blueprint.response(200, description="The metrics since the service started.")
@offers(TEXT)
def get_metrics() -> Response:
    """Get the metrics of the service.

    They are in Prometheus text format, summed over all workers on this host. Requests from this machine need no token;
    others need the bearer token that the operator has configured. Club tokens are not accepted.
    """
    wanted, sent = str(current_app.config.get("METRICS_TOKEN") or ""), bearer() or ""
    has_token = wanted and hmac.compare_digest(sent.encode("utf-8", "replace"), wanted.encode())
    if not from_this_machine() and not has_token:
        refuse("token-needed", headers={"WWW-Authenticate": REALM})
    return Response(current_app.extensions[EXTENSION].text(), content_type=CONTENT_TYPE_LATEST)
