"""Assemble the application from all resources and the middleware that handles every request first."""

from collections.abc import Mapping
from importlib import import_module
from typing import Any

from flask import Flask
from flask.json.provider import DefaultJSONProvider
from werkzeug.middleware.proxy_fix import ProxyFix

from tacticapi import __version__
from tacticapi.advice import Adviser
from tacticapi.api import pages
from tacticapi.api.contract import Contract
from tacticapi.api.http import middleware
from tacticapi.api.http.blueprint import IdConverter
from tacticapi.api.http.bodies import MAX_BODY
from tacticapi.api.http.deployment import EXTENSION, made_deployment, with_demo
from tacticapi.api.http.metrics import EXTENSION as METRICS
from tacticapi.api.http.metrics import Metrics
from tacticapi.api.http.problems import answer_refusals
from tacticapi.rulebook.files import rule_paths
from tacticapi.rulebook.load import load

_NAMES = (
    "suggestions", "calculations", "players", "matches", "entries", "live", "pictures", "card", "debrief", "dossier",
    "clubs", "tokens", "rulebook", "reference", "health",
)  # fmt: skip
RESOURCES = tuple(import_module(f"tacticapi.api.{name}").blueprint for name in _NAMES)  # in the order of the contract


def made_app(settings: Mapping[str, Any]) -> Flask:
    """Create the application; see `create_app`."""
    app: Flask = middleware.QuietFlask("tacticapi", static_folder=None)
    app.config.update(MAX_CONTENT_LENGTH=MAX_BODY, API_TITLE="tacticapi", API_VERSION=__version__)
    app.config["OPENAPI_VERSION"] = "3.1.0"
    app.config.update(settings)
    app.json = json = DefaultJSONProvider(app)
    json.sort_keys, json.compact, json.ensure_ascii = False, True, False  # UTF-8, with keys in order of creation
    adviser = app.config.get("ADVISER") or Adviser(load(rule_paths()))
    metrics = app.extensions[METRICS] = Metrics()
    app.extensions[EXTENSION] = made_deployment(app.config, adviser.watched(metrics.count_advice))
    app.wsgi_app = with_demo(app.wsgi_app)  # type: ignore[assignment]
    if proxies := int(app.config.get("PROXIES") or 0):
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=proxies, x_proto=proxies, x_prefix=proxies)  # type: ignore[method-assign]
    middleware.add_middleware(app, metrics.count_request)
    app.url_map.converters["id"] = IdConverter
    contract = Contract(app, adviser.rulebook)
    contract.register_converter(IdConverter, lambda _: {"type": "string", "format": "uuid"})
    for resource in RESOURCES:
        contract.register_blueprint(resource)
    app.register_blueprint(pages.blueprint)
    answer_refusals(app)
    return app
