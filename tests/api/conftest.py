from collections.abc import Iterator

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tacticapi.advice import Adviser
from tacticapi.api import create_app


@pytest.fixture(scope="session")
def app(adviser: Adviser) -> Flask:
    return create_app({"ADVISER": adviser, "TESTING": True})


@pytest.fixture
def client(app: Flask) -> Iterator[FlaskClient]:
    with app.test_client() as client:
        yield client
