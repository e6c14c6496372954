"""The service over HTTP: one module a resource, each with its routes and the shapes of its requests and answers."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flask import Flask


def create_app(settings: Mapping[str, Any] | None = None) -> "Flask":
    """Make the application from Flask's settings and ADVISER, DATABASE_URL, LOCAL, REQUIRE_TOKENS, PROXIES, RATE_…,
    REDIS_URL, CORS_ORIGINS and METRICS_TOKEN, as `tacticapi.settings` explains them.

    Without DATABASE_URL, what needs a club answers 503. Nothing is connected to before the first request that needs
    it. Raises RuleFileError for invalid rules.
    """
    from tacticapi.api.application import made_app  # noqa: PLC0415  (a second; who reads a situation needs none of it)

    return made_app(settings or {})
