from collections.abc import Callable, Iterator
from contextlib import ExitStack
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tacticapi.advice import Adviser

from ...databases import app_on, new_database

NewApp = Callable[..., Flask]


def add(client: FlaskClient, address: str, body: Any) -> str:
    """Post what is then there; its id."""
    answer = client.post(address, json=body)
    assert answer.status_code == 201, answer.text
    return str(answer.get_json()["id"])


@pytest.fixture(scope="module")
def url(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The address of a database of this module's own."""
    return new_database("sqlite", tmp_path_factory.mktemp("front"))


@pytest.fixture
def new_app(adviser: Adviser, url: str) -> Iterator[NewApp]:
    """Makes applications, as they run in earnest, with these settings."""
    with ExitStack() as made:

        def make(**settings: Any) -> Flask:
            address = settings.pop("DATABASE_URL", url)
            return made.enter_context(app_on(address, **{"adviser": adviser, "LOCAL": True, **settings}))

        yield make
