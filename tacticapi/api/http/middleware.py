"""Middleware for every request: log, request id, safe headers, compression, CORS and rate limits."""

import gzip
import logging
import re
import sys
import traceback
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from hashlib import sha256
from time import perf_counter, time
from typing import Any, TextIO

import structlog
from flask import Flask, Response, g, request
from flask_cors import CORS
from limits import RateLimitItem, parse
from limits.storage import MemoryStorage, RedisStorage, Storage

from tacticapi.api.http.access import from_this_machine, line_of_caller
from tacticapi.api.http.blueprint import UNLIMITED, accepted, offered_here
from tacticapi.api.http.problems import NOT_ACCEPTABLE, TOO_MANY_REQUESTS, refuse

FIELDS = ("digest", "faults", "kind", "method", "milliseconds", "reason", "request_id", "route", "status", "worker")
LOGGED_METHODS = ("DELETE", "GET", "HEAD", "OPTIONS", "PATCH", "POST", "PUT")
OTHER_METHOD = "other"
NO_ROUTE = "none"
TALKATIVE = ("flask_cors",)  # below the level of warnings it quotes addresses and headers

log = logging.getLogger(__name__)


def set_up_logs(level: str, stream: TextIO | None = None) -> logging.Handler:
    """Send every log record of this process to standard error, or `stream`, as JSON. Returns the handler."""
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
    """Register what every request passes before its route, and `count` for every response.

    Responses pass in reverse, so the log comes last.
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
    """Note the time, and give the request an id: the client's own if valid, else a new one."""
    g.started = perf_counter()
    sent = request.headers.get(REQUEST_ID, "")
    g.request_id = sent if _SANE_ID.fullmatch(sent) else uuid.uuid4().hex


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
    """Return the seconds since this request arrived."""
    return perf_counter() - float(g.get("started", perf_counter()))


def method_name() -> str:
    """Return the method of this request, or a placeholder: an unknown method may be any text."""
    method = request.method
    return method if method in LOGGED_METHODS else OTHER_METHOD


def route_template() -> str:
    """Return the route of this request with placeholders, as in /v1/matches/<id:match_id>."""
    rule = request.url_rule
    return rule.rule if rule else NO_ROUTE


class QuietFlask(Flask):
    """A Flask application that logs failures with the route, not the address, which may hold typed text."""

    def log_exception(self, exc_info: Any) -> None:
        """Log that a request failed, and how."""
        told = {"request_id": g.get("request_id"), "method": method_name(), "route": route_template()}
        log.error("request failed", exc_info=exc_info, extra=told)

    def ensure_sync(self, func: Callable[..., Any]) -> Callable[..., Any]:
        """Return the function. None here is a coroutine, and checking costs time in a dozen calls per request."""
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
    """Refuse a request that accepts no offered media type."""
    wanted = accepted()
    if wanted and not wanted.best_match(offered := offered_here()):
        refuse(NOT_ACCEPTABLE, f"offered: {', '.join(offered)}")


def _safe(response: Response) -> Response:
    response.headers[REQUEST_ID] = g.get("request_id") or uuid.uuid4().hex
    for name, value in SAFE_HEADERS.items():
        response.headers.setdefault(name, value)
    return response


MIN_PACKED = 1_000  # bytes; compressing less saves no packet
PACKED = ("text/", "application/json", "application/problem+json", "application/x-ndjson", "image/svg+xml")
LEVEL = 5  # gzip level; nearly as small as 9 in half the time


def _packed(response: Response) -> Response:
    """Compress a long text with gzip for a client that accepts it. Its ETag becomes weak, since the bytes differ."""
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
    """Let pages from CORS_ORIGINS call the service; without it, browsers let no other site read or send JSON."""
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
    """Keep caches from giving the response for one origin to another."""
    response.vary.add("Origin")
    return response


REDIS_PATIENCE_S = 1
REDIS_AWAY_S = 10  # time for which a failed Redis is not used
HERE = "windows://"


class Windows(MemoryStorage):
    """The counts of this process, without the thread per request with which the base class removes expired windows."""

    STORAGE_SCHEME = ["windows"]  # noqa: RUF012  (limits declares it so)
    _swept_at = 0.0

    def incr(self, key: str, expiry: float, amount: int = 1) -> int:
        """Count in the window of a key, which starts now if none is open; `expiry` is its length in seconds."""
        count, now = self.get(key) + amount, time()
        if count == amount:
            if now - self._swept_at > expiry:
                self._swept_at = now
                for each in [*self.expirations]:
                    self.get(each)  # removes it if expired
            self.expirations[key] = now + expiry
        self.storage[key] = count
        return count


@dataclass(frozen=True, slots=True)
class Limit:
    """A rate limit per caller. `caller` returns the caller's name, or an empty text if the limit does not apply."""

    scope: str
    rate: RateLimitItem
    caller: Callable[[], str]


@dataclass(frozen=True, slots=True)
class Counted:
    """The rest of a limit; negative if this request exceeded it."""

    limit: Limit
    left: int
    ends_at: float

    @property
    def seconds(self) -> int:
        """Return the seconds until the limit is reset."""
        return max(1, int(int(self.ends_at + 1) - time()))


class Limits:
    """The rate limits of one application, counted in Redis, or in this process if Redis is missing or away."""

    def __init__(self, limits: Iterable[Limit], redis: str | None) -> None:
        self._limits = sorted(limits, key=lambda one: one.rate)
        self._here: Storage = Windows(HERE)
        patience: dict[str, Any] = {"socket_connect_timeout": REDIS_PATIENCE_S, "socket_timeout": REDIS_PATIENCE_S}
        self._redis = RedisStorage(redis, **patience) if redis else None
        self._redis_from = 0.0

    def count(self) -> None:
        """Count this request. Ends it at the first limit that it exceeds."""
        g.counted = counted = list[Counted]()
        if (request.endpoint or "").startswith(UNLIMITED):
            return
        for limit in self._limits:
            if caller := limit.caller():
                counted.append(self._counted(limit, limit.rate.key_for("tacticapi", caller, limit.scope)))
                if counted[-1].left < 0:
                    words = f"at most {limit.rate.amount} per {limit.rate.get_expiry()} s"
                    refuse(TOO_MANY_REQUESTS, words, headers={"Retry-After": str(counted[-1].seconds)})

    def _counted(self, limit: Limit, key: str) -> Counted:
        if self._redis and time() >= self._redis_from:
            try:
                return _hit(self._redis, limit, key)
            except self._redis.base_exceptions:
                log.warning("Rate limit storage unreachable - falling back to in-memory storage")
                self._redis_from = time() + REDIS_AWAY_S
        return _hit(self._here, limit, key)


def _hit(storage: Storage, limit: Limit, key: str) -> Counted:
    left = limit.rate.amount - storage.incr(key, limit.rate.get_expiry())
    return Counted(limit, left, storage.get_expiry(key))


def _add_limits(app: Flask) -> None:
    """Limit requests by the settings (such as 600/minute; None: no limit), in REDIS_URL, or in each process alone."""
    wanted = (
        ("address", "RATE_PER_ADDRESS", lambda: "" if from_this_machine() else line_of_caller()),
        ("token", "RATE_PER_TOKEN", lambda: "" if from_this_machine() else _token_hash()),
        ("this-machine", "RATE_LOOPBACK", lambda: "loopback" if from_this_machine() else ""),
    )
    limits = [Limit(scope, parse(app.config[rate]), caller) for scope, rate, caller in wanted if app.config.get(rate)]
    if limits:
        app.before_request(Limits(limits, app.config.get("REDIS_URL")).count)
        app.after_request(_with_limits)


def _token_hash() -> str:
    """Return a hash of the token, so that the token itself is not stored; empty without one."""
    sent = request.headers.get("Authorization")
    return sha256(sent.encode("utf-8", "replace")).hexdigest()[:32] if sent else ""


def _with_limits(response: Response) -> Response:
    counted: list[Counted] = g.get("counted", [])
    if counted:
        nearest = min(counted, key=lambda one: one.left)
        policies = (f'"{one.limit.scope}";q={one.limit.rate.amount};w={one.limit.rate.get_expiry()}' for one in counted)
        response.headers["RateLimit-Policy"] = ", ".join(policies)
        response.headers["RateLimit"] = f'"{nearest.limit.scope}";r={max(nearest.left, 0)};t={nearest.seconds}'
    return response
