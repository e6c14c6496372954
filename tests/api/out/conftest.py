from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.club import Services, clubs
from tacticapi.store.engine import file_url

from .keeping import Ids, kept_match, new_services


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("kept")


@pytest.fixture(scope="module")
def services(folder: Path, adviser: Adviser) -> Iterator[Services]:
    """Services over a SQLite file, one a module."""
    services = new_services(folder, adviser)
    yield services
    services.engine.dispose()


@pytest.fixture(scope="module")
def ids(services: Services) -> Ids:
    """The demo match, won and ended."""
    return kept_match(services)


@pytest.fixture(scope="module")
def client(services: Services, folder: Path, ids: Ids) -> FlaskClient:
    """A client whose token has every scope of the club."""
    app = create_app({"ADVISER": services.adviser, "DATABASE_URL": file_url(folder / "kept.db"), "TESTING": True})
    return client_of(app, services, ids.club, *clubs.SCOPES)


def client_of(app: Flask, services: Services, club: str, *scopes: str) -> FlaskClient:
    """A client that asks with a new token of these scopes."""
    client = app.test_client()
    client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {clubs.create_token(services, club, 'test', scopes).text}"
    return client
