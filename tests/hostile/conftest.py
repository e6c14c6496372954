from collections.abc import Iterator

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tacticapi.advice import Adviser
from tacticapi.api import create_app

from ..databases import app_on, new_database


@pytest.fixture(scope="session")
def app(adviser: Adviser) -> Flask:
    """As it runs in earnest: what goes wrong becomes an answer, and no exception reaches the test."""
    return create_app({"ADVISER": adviser})


@pytest.fixture
def client(app: Flask) -> Iterator[FlaskClient]:
    """A client whose process still answers after the test."""
    with app.test_client() as client:
        yield client
        after = client.post("/v1/suggestions", json={"moment": "before-match"})
        assert after.status_code == 200


@pytest.fixture(scope="module")
def kept(adviser: Adviser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    """The same with a new database, open to this machine."""
    with app_on(new_database("sqlite", tmp_path_factory.mktemp("hostile")), adviser, LOCAL=True) as app:
        yield app
