"""What every answer carries, and what is asked of every request before its route."""

import re
import uuid

from flask import Flask, Response, g, request

from tacticapi.api.offers import accepted, offered_here
from tacticapi.api.problems import NOT_ACCEPTABLE, refuse

REQUEST_ID = "X-Request-ID"
SAFE_HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
_SANE_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")


def name_requests(app: Flask) -> None:
    """Give every request an id: the client's own where it is a sane one, else a new one. Answers carry it."""
    app.before_request(_name_request)


def add_headers(app: Flask) -> None:
    """Refuse what cannot be answered as the client accepts it, and give every answer a small set of safe headers."""
    app.before_request(_require_accepted)
    app.after_request(_safe)


def _name_request() -> None:
    sent = request.headers.get(REQUEST_ID, "")
    g.request_id = sent if _SANE_ID.fullmatch(sent) else uuid.uuid4().hex


def _require_accepted() -> None:
    offered = offered_here()
    if accepted() and not accepted().best_match(offered):
        refuse(NOT_ACCEPTABLE, f"offered: {', '.join(offered)}")


def _safe(response: Response) -> Response:
    response.headers[REQUEST_ID] = g.get("request_id") or uuid.uuid4().hex
    for name, value in SAFE_HEADERS.items():
        response.headers.setdefault(name, value)
    return response
