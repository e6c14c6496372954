from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.service import Desk, tokens
from tacticapi.store.settings import file_url

from .keeping import Ids, kept_match, new_desk


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("kept")


@pytest.fixture(scope="module")
def desk(folder: Path, adviser: Adviser) -> Iterator[Desk]:
    """A desk over a SQLite file, one a module."""
    desk = new_desk(folder, adviser)
    yield desk
    desk.engine.dispose()


@pytest.fixture(scope="module")
def ids(desk: Desk) -> Ids:
    """The demo match, won and ended."""
    return kept_match(desk)


@pytest.fixture(scope="module")
def client(desk: Desk, folder: Path, ids: Ids) -> FlaskClient:
    """A client whose token has every scope of the club."""
    app = create_app({"ADVISER": desk.adviser, "DATABASE_URL": file_url(folder / "kept.db"), "TESTING": True})
    return client_of(app, desk, ids.club, *tokens.SCOPES)


def client_of(app: Flask, desk: Desk, club: str, *scopes: str) -> FlaskClient:
    """A client that asks with a new token of these scopes."""
    client = app.test_client()
    client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {tokens.create(desk, club, 'test', scopes).text}"
    return client


@pytest.fixture(scope="module")
def with_scope(client: FlaskClient, desk: Desk, ids: Ids) -> Callable[..., FlaskClient]:
    """A client of the same club with other scopes, or of another club."""
    return lambda *scopes, club=None: client_of(client.application, desk, club or ids.club, *scopes)
