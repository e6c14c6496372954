"""Two clubs in one service: each has a token for everything, and a match of invented players.

tests/store asks the same of both engines; here `ON_BOTH_ENGINES` marks what the other one could answer otherwise.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from tacticapi.advice import Adviser
from tacticapi.club import Services, clubs
from tacticapi.seeds import demo_situation

from ...databases import ENGINES, Played, app_on, apps_on, emptied, new_database, services_of

NOWHERE = "01970000-0000-7000-8000-000000000000"  # an id that nothing has


@dataclass
class Caller:
    """A client with a token, as a phone at the court is one."""

    app: Flask
    token: str | None
    club: str = ""
    headers: dict[str, str] = field(default_factory=dict)

    def call(self, method: str, address: str, **more: Any) -> TestResponse:
        bearer = {"Authorization": f"Bearer {self.token}"} if self.token else {}
        headers = {**bearer, **self.headers, **more.pop("headers", {})}
        return self.app.test_client().open(address, method=method, headers=headers, **more)

    def get(self, address: str, **more: Any) -> TestResponse:
        return self.call("GET", address, **more)

    def post(self, address: str, json: Any = None, **more: Any) -> TestResponse:
        return self.call("POST", address, json=json, **more)

    def patch(self, address: str, json: Any, **more: Any) -> TestResponse:
        return self.call("PATCH", address, json=json, **more)

    def change(self, address: str, **body: Any) -> Any:
        """Change whatever version there is."""
        response = self.patch(address, body, headers={"If-Match": "*"})
        assert response.status_code == 200, response.text
        return response.json

    def pages(self, address: str) -> Iterator[TestResponse]:
        """Every page of a list, each found by the link of the one before."""
        while address:
            page = self.get(address)
            yield page
            link = page.headers.get("Link", "<>")
            assert link == "<>" or link.endswith('; rel="next"')
            address = link[1 : link.index(">")]

    def made(self, address: str, json: Any, **more: Any) -> Any:
        response = self.post(address, json, **more)
        assert response.status_code == 201, response.text
        return response.json


ON_BOTH_ENGINES = pytest.mark.parametrize("kept_url", ENGINES, indirect=True, scope="session")


@pytest.fixture(scope="session")
def kept_url(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    return new_database(getattr(request, "param", "sqlite"), tmp_path_factory.mktemp("kept"))


NewApp = Callable[..., Flask]


@pytest.fixture
def new_app(adviser: Adviser, kept_url: str) -> Iterator[NewApp]:
    """Makes applications over the one database."""
    with apps_on(kept_url, adviser) as make:
        yield make


@pytest.fixture(scope="session")
def kept_app(adviser: Adviser, kept_url: str) -> Iterator[Flask]:
    with app_on(kept_url, adviser) as app:
        yield app


@pytest.fixture
def services(kept_app: Flask) -> Services:
    """The service's services over an emptied database."""
    services = services_of(kept_app)
    emptied(services.engine)
    return services


def opened(app: Flask, services: Services, label: str, *scopes: str) -> Caller:
    club = clubs.create(services, label).club_id
    return Caller(app, clubs.create_token(services, club, "phone", scopes or clubs.SCOPES).text, club)


@pytest.fixture
def caller(kept_app: Flask, services: Services) -> Caller:
    return opened(kept_app, services, "Two Kilns")


@pytest.fixture
def stranger(kept_app: Flask, services: Services) -> Caller:
    return opened(kept_app, services, "Heron Weir")


def new_match(caller: Caller, **more: Any) -> Played:
    demo = demo_situation("before-match")
    own = caller.made("/v1/players", {"side": "own", "label": "Larch", "facts": demo["own"]})["id"]
    opponent = caller.made("/v1/players", {"side": "opponent", "label": "Sleet", "facts": demo["opponent"]})["id"]
    body = {"own_id": own, "opponent_id": opponent, "context": demo["context"], "first_server": "own", **more}
    return Played(own, opponent, caller.made("/v1/matches", body)["id"])


@pytest.fixture
def played(caller: Caller) -> Played:
    """A match of our club, nothing entered yet."""
    return new_match(caller)


@pytest.fixture
def under_way(caller: Caller, played: Played, seen: list[dict[str, Any]]) -> Played:
    """The match after a game, with what was seen."""
    caller.made(f"{played.address}/observations", seen[:26])
    for winner in ("own", "own", "opponent", "own", "own"):
        caller.made(f"{played.address}/points", {"winner": winner})
    return played
