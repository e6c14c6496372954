"""Middleware for every request: log, request id, security headers, compression, CORS and rate limits."""

import gzip
import logging
import re
import sys
import traceback
import uuid
from collections.abc import Callable, Iterable
from hashlib import sha256
from operator import itemgetter
from time import perf_counter, time
from typing import Any, NamedTuple, TextIO

import structlog
from flask import Flask, Response, g, request
from flask_cors import CORS
from limits import RateLimitItem, parse
from limits.storage import MemoryStorage, RedisStorage

from tacticapi.api.http.access import from_this_machine, line_of_caller
from tacticapi.api.http.blueprint import UNLIMITED, accepted, offered_here
from tacticapi.api.http.problems import refuse

FIELDS = ("digest", "faults", "kind", "method", "milliseconds", "reason", "request_id", "route", "status", "worker")
LOGGED_METHODS = ("DELETE", "GET", "HEAD", "OPTIONS", "PATCH", "POST", "PUT")
OTHER_METHOD = "other"
NO_ROUTE = "none"
TALKATIVE = ("flask_cors",)  # below the level of warnings it quotes addresses and headers

log = logging.getLogger(__name__)


def set_up_logs(level: str, stream: TextIO | None = None) -> logging.Handler:
    """Write this process's log records as JSON to standard error or `stream`. Return the handler."""
    shared: list[Callable[..., Any]] = [
        structlog.stdlib.add_log_level,
        structlog.stdlib.ExtraAdder(FIELDS),
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        _failure_lines,
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


def _failure_lines(logger: Any, name: str, event: dict[str, Any]) -> dict[str, Any]:
    """Return an exception as its type and its stack frames, innermost last."""
    failure = event.pop("exc_info", None)
    if failure and failure[0] is not None:
        event["failure"] = failure[0].__name__
        event["at"] = [f"{step.filename}:{step.lineno} {step.name}" for step in traceback.extract_tb(failure[2])]
    event.pop("exc_text", None)
    return event


def add_middleware(app: Flask, count: Callable[[Response], Response]) -> None:
    """Register what runs before every request's route, and `count` for every response.

    Responses pass through in reverse, so the log comes last.
    """
    app.before_request(_begin)
    app.after_request(_tell)
    app.after_request(count)
    _add_cors(app)
    _add_limits(app)
    app.before_request(_require_accepted)
    app.after_request(_safe)
    app.after_request(_packed)


def _begin() -> None:
    g.started = perf_counter()
    sent = request.headers.get(REQUEST_ID, "")
    g.request_id = sent if _SANE_ID.fullmatch(sent) else uuid.uuid4().hex


def _tell(response: Response) -> Response:
    took = round(1000 * seconds_taken(), 1)
    log.info("request", extra={**_named(), "status": response.status_code, "milliseconds": took})
    return response


def _named() -> dict[str, Any]:
    return {"request_id": g.get("request_id"), "method": method_name(), "route": route_template()}


def seconds_taken() -> float:
    """Return the seconds since this request arrived."""
    return perf_counter() - float(g.get("started", perf_counter()))


def method_name() -> str:
    """Return this request's method, or a placeholder, because an unknown method could contain anything."""
    method = request.method
    return method if method in LOGGED_METHODS else OTHER_METHOD


def route_template() -> str:
    """Return this request's route with placeholders, as in /v1/matches/<id:match_id>."""
    rule = request.url_rule
    return rule.rule if rule else NO_ROUTE


class QuietFlask(Flask):
    """A Flask application that logs failures with the route, not the address, which may contain typed text."""

    def log_exception(self, exc_info: Any) -> None:
        """Log that a request failed, and how."""
        log.error("request failed", exc_info=exc_info, extra=_named())

    def ensure_sync(self, func: Callable[..., Any]) -> Callable[..., Any]:
        """Return the function. None of ours is a coroutine, and checking takes time in a dozen calls per request."""
        return func


REQUEST_ID = "X-Request-ID"
SAFE_HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
_SANE_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")


def _require_accepted() -> None:
    wanted = accepted()
    if wanted and not wanted.best_match(offered := offered_here()):
        refuse("not-acceptable", f"offered: {', '.join(offered)}")


def _safe(response: Response) -> Response:
    response.headers[REQUEST_ID] = g.get("request_id") or uuid.uuid4().hex
    for name, value in SAFE_HEADERS.items():
        if name not in response.headers:
            response.headers.add(name, value)
    return response


MIN_PACKED = 1_000  # bytes; compressing less saves no packet
PACKED = ("text/", "application/json", "application/problem+json", "application/x-ndjson", "image/svg+xml")
LEVEL = 5  # gzip level; nearly as small as 9 in half the time


def _packed(response: Response) -> Response:
    """Compress long text with gzip if the client accepts it. Its ETag becomes weak, because the bytes differ."""
    if not (response.mimetype or "").startswith(PACKED) or response.is_streamed or response.status_code != 200:
        return response
    response.vary.add("Accept-Encoding")
    if request.accept_encodings.quality("gzip") <= 0 or "Content-Encoding" in response.headers:
        return response
    body = response.get_data()
    if len(body) >= MIN_PACKED:
        response.set_data(gzip.compress(body, LEVEL, mtime=0))
        response.headers["Content-Encoding"] = "gzip"
        tag, weak = response.get_etag()
        if tag and not weak:
            response.set_etag(tag, weak=True)
    return response


CORS_METHODS = ("GET", "HEAD", "POST", "PATCH", "DELETE")
CORS_SENT = ("Authorization", "Content-Type", "Idempotency-Key", "If-Match", "If-None-Match", "X-Request-ID")
CORS_READ = (
    "Content-Disposition",
    "ETag",
    "Link",
    "Location",
    "RateLimit",
    "RateLimit-Policy",
    "Retry-After",
    "WWW-Authenticate",
    "X-Request-ID",
)
CORS_MAX_AGE_S = 600


def _add_cors(app: Flask) -> None:
    """Let pages from CORS_ORIGINS call the service; browsers block all other sites."""
    if origins := app.config.get("CORS_ORIGINS"):
        CORS(
            app,
            origins=list(origins),
            methods=CORS_METHODS,
            allow_headers=CORS_SENT,
            expose_headers=CORS_READ,
            max_age=CORS_MAX_AGE_S,
            always_send=False,
        )
        app.after_request(_varies)


def _varies(response: Response) -> Response:
    """Prevent caches from serving one origin's response to another."""
    response.vary.add("Origin")
    return response


REDIS_PATIENCE_S = 1
REDIS_AWAY_S = 10  # time for which a failed Redis is not used
HERE = "windows://"


class Windows(MemoryStorage):
    """This process's counts, without the base class's extra thread per request, which removes expired windows."""

    STORAGE_SCHEME = ["windows"]  # noqa: RUF012  (limits declares it so)
    _swept_at = 0.0

    def incr(self, key: str, expiry: float, amount: int = 1) -> int:
        """Count in a key's window, which starts now if none is open; `expiry` is its length in seconds."""
        count, now = self.get(key) + amount, time()
        if count == amount:
            if now - self._swept_at > expiry:
                self._swept_at = now
                for each in [*self.expirations]:
                    self.get(each)  # removes it if expired
            self.expirations[key] = now + expiry
        self.storage[key] = count
        return count


class Counted(NamedTuple):
    """What is left of a limit (negative if this request exceeded it), and the seconds until it is reset."""

    left: int
    seconds: int
    scope: str
    rate: RateLimitItem


Limit = tuple[RateLimitItem, str, Callable[[], str]]
"""A rate limit, its scope, and the caller's name, which is empty if the limit does not apply."""


class Limits:
    """The rate limits of one application, counted in Redis, or in this process if Redis is missing or unavailable."""

    def __init__(self, limits: Iterable[Limit], redis: str | None) -> None:
        self._limits = sorted(limits, key=itemgetter(0))
        self._here = Windows(HERE)
        patience: dict[str, Any] = {"socket_connect_timeout": REDIS_PATIENCE_S, "socket_timeout": REDIS_PATIENCE_S}
        self._redis = RedisStorage(redis, **patience) if redis else None
        self._redis_from = 0.0

    def count(self) -> None:
        """Count this request, and end it at the first limit that it exceeds."""
        g.counted = counted = list[Counted]()
        if (request.endpoint or "").startswith(UNLIMITED):
            return
        for rate, scope, caller_of in self._limits:
            if caller := caller_of():
                used, ends_at = self._hit(rate.key_for("tacticapi", caller, scope), rate.get_expiry())
                seconds = max(1, int(int(ends_at + 1) - time()))
                counted.append(Counted(rate.amount - used, seconds, scope, rate))
                if used > rate.amount:
                    words = f"at most {rate.amount} per {rate.get_expiry()} s"
                    refuse("too-many-requests", words, headers={"Retry-After": str(seconds)})

    def _hit(self, key: str, expiry: int) -> tuple[int, float]:
        """Count in a key's window, which lasts `expiry` seconds. Return the count and when the window ends."""
        if self._redis and time() >= self._redis_from:
            try:
                return self._redis.incr(key, expiry), self._redis.get_expiry(key)
            except self._redis.base_exceptions:
                log.warning("Rate limit storage unreachable - falling back to in-memory storage")
                self._redis_from = time() + REDIS_AWAY_S
        return self._here.incr(key, expiry), self._here.get_expiry(key)


def _add_limits(app: Flask) -> None:
    """Limit requests as configured (such as 600/minute; None: no limit), in REDIS_URL or separately in each process."""
    wanted = (
        ("address", "RATE_PER_ADDRESS", lambda: "" if from_this_machine() else line_of_caller()),
        ("token", "RATE_PER_TOKEN", lambda: "" if from_this_machine() else _token_hash()),
        ("this-machine", "RATE_LOOPBACK", lambda: "loopback" if from_this_machine() else ""),
    )
    limits = [(parse(app.config[rate]), scope, caller) for scope, rate, caller in wanted if app.config.get(rate)]
    if limits:
        app.before_request(Limits(limits, app.config.get("REDIS_URL")).count)
        app.after_request(_with_limits)


def _token_hash() -> str:
    sent = request.headers.get("Authorization")
    return sha256(sent.encode("utf-8", "replace")).hexdigest()[:32] if sent else ""


def _with_limits(response: Response) -> Response:
    counted: list[Counted] = g.get("counted", [])
    if counted:
        nearest = min(counted, key=lambda one: one.left)
        policies = (f'"{one.scope}";q={one.rate.amount};w={one.rate.get_expiry()}' for one in counted)
        response.headers["RateLimit-Policy"] = ", ".join(policies)
        response.headers["RateLimit"] = f'"{nearest.scope}";r={max(nearest.left, 0)};t={nearest.seconds}'
    return response
