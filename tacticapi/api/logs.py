"""The log: one JSON object a line on standard error, that names no person and holds no token, no body and no query.

A request is told by its id, method, route template, status and time. A failure is told by its type and where it came
from, without its words, since those may quote what was sent.
"""

import logging
import sys
import traceback
from collections.abc import Callable
from time import perf_counter
from typing import Any, TextIO

import structlog
from flask import Flask, Response, g, request

FIELDS = ("digest", "faults", "kind", "method", "milliseconds", "reason", "request_id", "route", "status", "worker")
METHODS = ("DELETE", "GET", "HEAD", "OPTIONS", "PATCH", "POST", "PUT")
OTHER_METHOD = "other"
NO_ROUTE = "none"
TALKATIVE = ("flask-limiter", "flask_cors")  # below a warning they quote addresses and headers

log = logging.getLogger(__name__)


def set_up_logs(level: str, stream: TextIO | None = None) -> logging.Handler:
    """Send every log record of this process to standard error, or `stream`, as JSON. Returns the handler."""
    shared: list[Callable[..., Any]] = [
        structlog.stdlib.add_log_level,
        structlog.stdlib.ExtraAdder(FIELDS),
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        _told_failure,
    ]
    render: list[Callable[..., Any]] = [
        structlog.stdlib.ProcessorFormatter.remove_processors_meta,
        structlog.processors.JSONRenderer(),
    ]
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(structlog.stdlib.ProcessorFormatter(foreign_pre_chain=shared, processors=render))
    for name in TALKATIVE:
        logging.getLogger(name).setLevel(logging.WARNING)
    logging.basicConfig(handlers=[handler], level=level.upper(), force=True)
    return handler


def _told_failure(logger: Any, name: str, event: dict[str, Any]) -> dict[str, Any]:
    """An exception by its type and the places it passed, innermost last."""
    failure = event.pop("exc_info", None)
    if failure and failure[0] is not None:
        event["failure"] = failure[0].__name__
        event["at"] = [f"{step.filename}:{step.lineno} {step.name}" for step in traceback.extract_tb(failure[2])]
    event.pop("exc_text", None)
    return event


def add_request_log(app: Flask) -> None:
    """Tell of every request when it is answered. Call it before whatever else acts on requests."""
    app.before_request(_start)
    app.after_request(_tell)


def _start() -> None:
    g.started = perf_counter()


def _tell(response: Response) -> Response:
    told = {
        "request_id": g.get("request_id"),
        "method": method_name(),
        "route": route_template(),
        "status": response.status_code,
        "milliseconds": round(1000 * seconds_taken(), 1),
    }
    log.info("request", extra=told)
    return response


def seconds_taken() -> float:
    """How long this request has been worked on."""
    return perf_counter() - float(g.get("started", perf_counter()))


def method_name() -> str:
    """The method of this request; one that nobody knows may be anything at all, so it is not told."""
    return request.method if request.method in METHODS else OTHER_METHOD


def route_template() -> str:
    """The route of this request with the names of its parts, as in /v1/matches/<id:match_id>."""
    return request.url_rule.rule if request.url_rule else NO_ROUTE


class QuietFlask(Flask):
    """A Flask whose log of a failure names the route and not the address, which may hold what somebody typed."""

    def log_exception(self, exc_info: Any) -> None:
        """Tell that a request failed, and how."""
        told = {"request_id": g.get("request_id"), "method": method_name(), "route": route_template()}
        log.error("request failed", exc_info=exc_info, extra=told)
