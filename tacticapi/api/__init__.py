"""The HTTP service: one module per resource, with its routes and the shapes of its requests and responses."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flask import Flask


def create_app(settings: Mapping[str, Any] | None = None) -> "Flask":
    """Create the application.

    `settings` are Flask's, plus ADVISER, DATABASE_URL, LOCAL, REQUIRE_TOKENS, PROXIES, RATE_…, REDIS_URL, CORS_ORIGINS
    and METRICS_TOKEN, which `tacticapi.settings` explains. Without DATABASE_URL, requests that need a club get 503. A
    connection is opened only when a request needs it. Raises RuleFileError for invalid rules.
    """
    from tacticapi.api.application import made_app  # noqa: PLC0415  (takes a second; reading a situation does not need it)

    return made_app(settings or {})
