"""How much one caller may ask: limits by address and by token, told in RateLimit headers, 429 beyond them.

The headers RateLimit and RateLimit-Policy are those of the IETF draft on rate limit headers (version 9, work in
progress): the policy that leaves least, how many requests it leaves (r), and in how many seconds it starts anew (t).
"""

from hashlib import sha256
from time import time

from flask import Flask, Response, request
from flask_limiter import ApplicationLimit, Limiter, RateLimitExceeded, RequestLimit

from tacticapi.api.callers import from_this_machine, line_of_caller
from tacticapi.api.problems import TOO_MANY_REQUESTS, ProblemError, http_problem

REDIS_PATIENCE_S = 1
UNLIMITED = ("health.", "metrics.")  # what watches the service must not be shut out with what overruns it


def add_limits(app: Flask) -> None:
    """Count requests as the settings say.

    RATE_PER_ADDRESS, RATE_PER_TOKEN, RATE_LOOPBACK: as in 600/minute; absent or None: no limit.
    REDIS_URL: where to count. Without it, and while Redis is away, each process counts for itself.
    """
    settings = app.config
    wanted = (
        ("address", settings.get("RATE_PER_ADDRESS"), line_of_caller, from_this_machine),
        ("token", settings.get("RATE_PER_TOKEN"), _token, lambda: from_this_machine() or not _token()),
        ("this-machine", settings.get("RATE_LOOPBACK"), lambda: "loopback", lambda: not from_this_machine()),
    )
    limits = [
        ApplicationLimit(rate, key_function=key, exempt_when=exempt, scope=scope)
        for scope, rate, key, exempt in wanted
        if rate
    ]
    if not limits:
        return
    address = settings.get("REDIS_URL") or "memory://"
    patience = {"socket_connect_timeout": REDIS_PATIENCE_S, "socket_timeout": REDIS_PATIENCE_S}
    limiter = Limiter(
        line_of_caller,
        app=app,
        application_limits=[*limits],
        storage_uri=address,
        storage_options={} if address == "memory://" else {**patience},
        in_memory_fallback_enabled=address != "memory://",
        key_prefix="tacticapi",
        request_identifier=lambda: request.endpoint or "nothing",
        headers_enabled=False,
    )
    limiter.request_filter(lambda: (request.endpoint or "").startswith(UNLIMITED))
    app.register_error_handler(RateLimitExceeded, lambda error: _refused(limiter))
    app.after_request(lambda response: _told(response, limiter))


def _token() -> str:
    """Stands for the token that was sent, so that no storage holds it; nothing where none was."""
    sent = request.headers.get("Authorization")
    return sha256(sent.encode("utf-8", "replace")).hexdigest()[:32] if sent else ""


def _refused(limiter: Limiter) -> Response:
    limit = limiter.current_limit
    wait = _seconds_left(limit) if limit else 1
    return http_problem(ProblemError(TOO_MANY_REQUESTS, _words(limit), headers={"Retry-After": str(wait)}))


def _words(limit: RequestLimit | None) -> str | None:
    return f"at most {limit.limit.amount} in {limit.limit.get_expiry()} s" if limit else None


def _told(response: Response, limiter: Limiter) -> Response:
    limits = limiter.current_limits
    if not limits:
        return response
    nearest = min(limits, key=lambda limit: limit.remaining)
    policies = (f'"{_name(one)}";q={one.limit.amount};w={one.limit.get_expiry()}' for one in limits)
    response.headers["RateLimit-Policy"] = ", ".join(policies)
    response.headers["RateLimit"] = f'"{_name(nearest)}";r={max(nearest.remaining, 0)};t={_seconds_left(nearest)}'
    return response


def _name(limit: RequestLimit) -> str:
    """Its scope, the last of what identifies it in the storage."""
    return str(limit.request_args[-1])


def _seconds_left(limit: RequestLimit) -> int:
    return max(1, int(limit.reset_at - time()))
