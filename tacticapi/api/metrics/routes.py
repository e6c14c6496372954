"""GET /metrics: for this machine, and for whoever has the token that the settings name."""

import hmac

from flask import Response, current_app, request
from prometheus_client import CONTENT_TYPE_LATEST

from tacticapi.api.auth import REALM
from tacticapi.api.callers import from_this_machine
from tacticapi.api.metrics.counts import metrics_here
from tacticapi.api.nouns import Noun
from tacticapi.api.offers import TEXT, offers
from tacticapi.api.problems import NO_TOKEN, refuse

blueprint = Noun("metrics", "What the service counts about itself.")


@blueprint.route("/metrics")
@blueprint.response(200, description="The counts since the service started.")
@blueprint.doc(operationId="getMetrics", responses={200: {"content": {TEXT: {"schema": {"type": "string"}}}}})
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
    scheme, _, sent = request.headers.get("Authorization", "").partition(" ")
    same = hmac.compare_digest(sent.strip().encode("utf-8", "replace"), wanted.encode())
    return bool(wanted) and scheme.lower() == "bearer" and same
