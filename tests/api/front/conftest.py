from collections.abc import Callable, Iterator
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.http.deployment import EXTENSION
from tacticapi.store import upgrade
from tacticapi.store.engine import file_url

NewApp = Callable[..., Flask]


def add(client: FlaskClient, address: str, body: Any) -> str:
    """Post what is then there; its id."""
    answer = client.post(address, json=body)
    assert answer.status_code == 201, answer.text
    return str(answer.get_json()["id"])


@pytest.fixture(scope="module")
def url(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The address of a database of this module's own."""
    address = file_url(tmp_path_factory.mktemp("front") / "kept.db")
    upgrade(address)
    return address


@pytest.fixture
def new_app(adviser: Adviser, url: str) -> Iterator[NewApp]:
    """Makes applications, as they run in earnest, with these settings."""
    made: list[Flask] = []

    def make(**settings: Any) -> Flask:
        made.append(create_app({"ADVISER": adviser, "DATABASE_URL": url, "LOCAL": True, **settings}))
        return made[-1]

    yield make
    for app in made:
        app.extensions[EXTENSION].services.engine.dispose()
