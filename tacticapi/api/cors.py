"""Which web pages may call (CORS): none, but for those of the origins that the settings list."""

from flask import Flask, Response
from flask_cors import CORS

METHODS = ("GET", "HEAD", "POST", "PATCH", "DELETE")
SENT = ("Authorization", "Content-Type", "Idempotency-Key", "If-Match", "If-None-Match", "X-Request-ID")
READ = (
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
KEPT_S = 600


def add_cors(app: Flask) -> None:
    """Let pages of CORS_ORIGINS call; without it, a browser lets no page of another site read or send JSON."""
    if origins := app.config.get("CORS_ORIGINS"):
        CORS(
            app,
            origins=list(origins),
            methods=METHODS,
            allow_headers=SENT,
            expose_headers=READ,
            max_age=KEPT_S,
            always_send=False,
        )
        app.after_request(_varies)


def _varies(response: Response) -> Response:
    """Keep caches from giving one page's answer to another, whose origin it does not name."""
    response.vary.add("Origin")
    return response
