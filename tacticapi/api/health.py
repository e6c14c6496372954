"""Report to the operator whether the service answers, whether it can advise, and what it counts."""

import hmac

from flask import Response, current_app
from prometheus_client import CONTENT_TYPE_LATEST

from tacticapi.api.advice import RulebookRefSchema
from tacticapi.api.http.access import REALM, bearer, from_this_machine
from tacticapi.api.http.blueprint import TEXT, Blueprint, answer, offers
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import Shape, a_part, a_word, texts
from tacticapi.api.http.metrics import metrics_here
from tacticapi.api.http.problems import NO_TOKEN, NOT_READY, refuse
from tacticapi.club import check


class LiveSchema(Shape):
    """The process answers."""

    status = a_word(("alive",), "Always alive.")


class ReadySchema(Shape):
    """The service can advise."""

    status = a_word(("ready",), "Always `ready`; otherwise the service answers 503.")
    rulebook = a_part(RulebookRefSchema)
    engine = a_word(("durable-rules", "evaluator"), "The matcher of the rules.")
    database = a_word(("sqlite", "postgresql"), "The database of clubs; absent without one.", absent=True)
    warnings = texts("Warnings for the operator.")


blueprint = Blueprint("health")

IN_PLACE = "the rule engine is not used or its last call failed; the evaluator gives the same answers"


@blueprint.route("/livez")
@blueprint.response(200, LiveSchema, description="The process answers.")
def is_alive() -> Response:
    """Say whether the process answers.

    Touches neither rules nor engine.
    """
    return answer({"status": "alive"})


@blueprint.route("/readyz")
@blueprint.response(200, ReadySchema, description="The service can advise.")
def is_ready() -> Response:
    """Say whether the service can advise.

    The rulebook is loaded, and the rule engine or the evaluator replaces it; a warning says if the
    evaluator stands in. Where clubs are kept, the database answers and has the schema of this version.
    """
    adviser, services = deployment().adviser, deployment().services
    if services is not None and (fault := check(services.engine.url.render_as_string(hide_password=False))):
        refuse(NOT_READY, fault)
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
@blueprint.response(200, description="The counts since the service started.")
@offers(TEXT)
def get_metrics() -> Response:
    """Get what the service counts about itself.

    In the text format of Prometheus, over all workers of this host. Open to this machine, and from elsewhere to the
    bearer token that the operator has set for it; tokens of clubs do not open it.
    """
    if not from_this_machine() and not _has_token():
        refuse(NO_TOKEN, headers={"WWW-Authenticate": REALM})
    return Response(metrics_here().text(), content_type=CONTENT_TYPE_LATEST)


def _has_token() -> bool:
    wanted = str(current_app.config.get("METRICS_TOKEN") or "")
    return bool(wanted) and hmac.compare_digest((bearer() or "").encode("utf-8", "replace"), wanted.encode())
