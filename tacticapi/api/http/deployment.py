"""Set up one running application from the environment: its rulebook, adviser, database and access."""

import contextlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, cast

from flask import current_app, request
from marshmallow import Schema

from tacticapi import settings
from tacticapi.advice import Adviser
from tacticapi.api.http.fields import ROOT, RulebookShape
from tacticapi.api.http.problems import refuse
from tacticapi.club import AWAY, Services, check, clubs, database_url, open_engine
from tacticapi.club.demo import Demo
from tacticapi.domain.rules import Rulebook

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

EXTENSION = "tacticapi"
DEMO_STEP = "tacticapi.demo_step"  # in a request's environ
_DEMO = re.compile(r"(?P<prefix>/demo/(?P<step>\d{1,3}))(?P<rest>/v1/.*)", re.ASCII)
LOCAL_CLUB = "local"
NO_DATABASE = "no database is configured: set DATABASE_URL or TACTICAPI_DB"
OF_THE_ENVIRONMENT = (
    "LOCAL", "REQUIRE_TOKENS", "PROXIES", "RATE_PER_ADDRESS", "RATE_PER_TOKEN", "RATE_LOOPBACK", "REDIS_URL",
    "CORS_ORIGINS", "METRICS_TOKEN",
)  # fmt: skip


@dataclass
class Deployment:
    """The services of one process, created by `create_app`. Without a database, stored resources get 503."""

    adviser: Adviser
    services: Services | None = None
    local: bool = False
    require_tokens: bool = False
    _schemas: dict[Any, Schema] = field(default_factory=dict)
    _local_club_id: str | None = None
    _has_tokens: bool = False

    @property
    def rulebook(self) -> Rulebook:
        """Return this process's rulebook."""
        return self.adviser.rulebook

    def schema(self, of: type[Schema]) -> Schema:
        """Return the schema, created once and bound to the rulebook if it needs the vocabulary."""
        if of not in self._schemas:
            self._schemas[of] = of(rulebook=self.rulebook) if issubclass(of, RulebookShape) else of()
        return self._schemas[of]

    @cached_property
    def demo(self) -> Demo:
        """Return the demo match."""
        return Demo(self.adviser)

    def has_tokens(self) -> bool:
        """Return whether any club has a token, or False if the database is unavailable; once True, it stays True."""
        if not self._has_tokens and self.services is not None:
            with contextlib.suppress(*AWAY):
                self._has_tokens = clubs.any_token_made(self.services)
        return self._has_tokens

    def local_club_id(self, services: Services) -> str:
        """Return this machine's club; create it on first use, and again if it was deleted."""
        if self._local_club_id is None or not clubs.exists(services, self._local_club_id):
            self._local_club_id = local_club_id(services)
        return self._local_club_id


def deployment() -> Deployment:
    """Return the deployment of the application that handles this request."""
    return cast(Deployment, current_app.extensions[EXTENSION])


def demo_step() -> int | None:
    """Return the demo match step that this request is about; None for a request about a club."""
    return cast(int | None, request.environ.get(DEMO_STEP))


def with_demo(application: "WSGIApplication") -> "WSGIApplication":
    """Return the application with /demo/STEP/v1/… routed to /v1/…, for the demo match after that step."""

    def routed(environ: "WSGIEnvironment", start_response: "StartResponse") -> Iterable[bytes]:
        if found := _DEMO.fullmatch(environ.get("PATH_INFO", "")):
            root = environ.get("SCRIPT_NAME", "")
            told = {"PATH_INFO": found["rest"], "SCRIPT_NAME": root + found["prefix"], DEMO_STEP: int(found["step"])}
            environ = {**environ, ROOT: root, **told}
        return application(environ, start_response)

    return routed


def kept_services() -> Services:
    """Return the application's services. If there is no database, end the request with 503."""
    step = demo_step()
    if step is not None:
        return deployment().demo.at(step)
    return deployment().services or refuse("not-ready", NO_DATABASE)


def made_deployment(given: Mapping[str, Any], adviser: Adviser) -> Deployment:
    """Return a deployment, one per process, because connections must not cross a fork. Raises ValueError if invalid."""
    url, require_tokens = given.get("DATABASE_URL"), bool(given.get("REQUIRE_TOKENS"))
    services = Services(open_engine(url), adviser) if url else None
    return Deployment(adviser, services, bool(given.get("LOCAL")) and not require_tokens, require_tokens)


def settings_of(environment: Mapping[str, str]) -> dict[str, Any]:
    """Return the settings for `create_app` from the environment. Raises ValueError if any is invalid."""
    read = {name: getattr(settings, name).read(environment) for name in OF_THE_ENVIRONMENT}
    return {"DATABASE_URL": database_url(environment), **read}


def start_refusal(services: Services, url: str, environment: Mapping[str, str], *, loopback: bool) -> str | None:
    """Return why a service must not start with this database, and the remedy; None if it may start."""
    if complaint := check(url):
        return complaint
    if loopback or settings.ALLOW_OPEN.read(environment) or any_token(services):
        return None
    return (
        "other machines can reach this address and there is no token yet: run `tacticapi token create`, or set "
        f"{settings.ALLOW_OPEN.name}=1 if something in front of it keeps strangers out"
    )


def any_token(services: Services) -> bool:
    """Return whether any club has a live token."""
    tokens = (token for club in clubs.every(services) for token in clubs.tokens_of(services, club.club_id))
    return any(clubs.is_live(token, services.now()) and clubs.match_of(token) is None for token in tokens)


def local_club_id(services: Services) -> str:
    """Return this machine's club: the oldest with its label, so that workers agree. Create it if it is missing."""
    for club in clubs.every(services):
        if club.label == LOCAL_CLUB:
            return club.club_id
    clubs.create(services, LOCAL_CLUB)
    return local_club_id(services)
