"""The application factory."""

import logging
from collections.abc import Mapping
from typing import Any

from flask import Flask
from flask.json.provider import DefaultJSONProvider
from werkzeug.exceptions import HTTPException

from tacticapi import __version__
from tacticapi.advice import Adviser
from tacticapi.api.calculations.routes import blueprint as calculations
from tacticapi.api.clubs.routes import blueprint as clubs
from tacticapi.api.contract import Contract
from tacticapi.api.debrief.routes import blueprint as debrief
from tacticapi.api.deployment import EXTENSION, made_deployment
from tacticapi.api.dossier.routes import blueprint as dossier
from tacticapi.api.explanations.routes import blueprint as explanations
from tacticapi.api.feedback.routes import blueprint as feedback
from tacticapi.api.headers import add_headers
from tacticapi.api.health.routes import blueprint as health
from tacticapi.api.ids import NAME, IdConverter, described
from tacticapi.api.live.routes import blueprint as live
from tacticapi.api.matches.routes import blueprint as matches
from tacticapi.api.observations.routes import blueprint as observations
from tacticapi.api.players.routes import blueprint as players
from tacticapi.api.points.routes import blueprint as points
from tacticapi.api.problems import TOO_MANY_MATCHES, ProblemError, http_problem
from tacticapi.api.refusals import answer_refusals
from tacticapi.api.rulebook.routes import blueprint as rulebook
from tacticapi.api.schemas_.routes import blueprint as schemas
from tacticapi.api.sources.routes import blueprint as sources
from tacticapi.api.suggestions.routes import blueprint as suggestions
from tacticapi.api.tactics.routes import blueprint as tactics
from tacticapi.api.traits.routes import blueprint as traits
from tacticapi.api.tries.routes import blueprint as tries
from tacticapi.api.vocabulary.routes import blueprint as vocabulary
from tacticapi.inference.failures import TooManyMatches
from tacticapi.knowledge import load, rule_paths

LARGEST_BODY = 1024 * 1024  # bytes
STATELESS = (suggestions, explanations, calculations, vocabulary, traits, tactics, sources, rulebook, schemas, health)
KEPT = (players, matches, observations, points, tries, live, feedback, debrief, dossier, clubs)

log = logging.getLogger(__name__)


def create_app(settings: Mapping[str, Any] | None = None) -> Flask:
    """The application. `settings` are Flask's, and

    ADVISER: an Adviser to use in place of one on the rules found.
    DATABASE_URL: where clubs are kept; without it, what needs a club answers 503 and all else as with it.
    LOCAL: whether a request from this machine needs no token and works for the club of this machine.
    REQUIRE_TOKENS: whether advice on a posted situation needs a token too; LOCAL counts for nothing then.

    Nothing is connected to before the first request that needs it. Raises RuleFileError where the rules cannot be
    used: a service without rules does not start.
    """
    app = Flask("tacticapi", static_folder=None)
    app.config.update(MAX_CONTENT_LENGTH=LARGEST_BODY, API_TITLE="tacticapi", API_VERSION=__version__)
    app.config["OPENAPI_VERSION"] = "3.1.0"
    app.config.update(settings or {})
    app.json = PlainJson(app)
    adviser = app.config.get("ADVISER") or Adviser(load(rule_paths()))
    app.extensions[EXTENSION] = made_deployment(app.config, adviser)
    app.url_map.converters[NAME] = IdConverter
    add_headers(app)
    contract = Contract(app, adviser.rulebook)
    contract.register_converter(IdConverter, described)
    for noun in (*STATELESS, *KEPT):
        contract.register_blueprint(noun)
    app.register_error_handler(HTTPException, http_problem)
    answer_refusals(app)
    app.register_error_handler(TooManyMatches, _too_many_matches)
    return app


class PlainJson(DefaultJSONProvider):
    """Compact UTF-8 JSON whose keys stand in the order in which they were made."""

    sort_keys = False
    compact = True
    ensure_ascii = False


def _too_many_matches(error: TooManyMatches) -> Any:
    return http_problem(ProblemError(TOO_MANY_MATCHES, str(error)))
