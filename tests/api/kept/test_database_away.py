"""A database that is locked, full, read-only, newer or away: 503, what can goes on, and all again without a restart."""

import resource
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import psycopg
import pytest
from flask import Flask
from sqlalchemy import text

from tacticapi.api import create_app
from tacticapi.club import Services
from tacticapi.club.advising import NOT_KEPT
from tacticapi.store import backup, upgrade
from tacticapi.store.engine import file_url, is_sqlite

from ...databases import own_server
from .conftest import ON_BOTH_ENGINES, Caller, NewApp, services_of

NOTED = {"what": "warmup.low_forehand", "rating": 1, "note": "x" * 500}
KEY = {"Idempotency-Key": "a"}
NOW = "moment=change-of-ends"
SEEN = {"what": "serve.followed_to_net", "count": 5, "of": 6}
MAX_FILE_BYTES = 256 * 1024  # bytes; what is posted here takes several times as much
HOLDER = """
import sqlite3, sys
other = sqlite3.connect(sys.argv[1], isolation_level=None)
other.execute("BEGIN EXCLUSIVE")
print("held", flush=True)
sys.stdin.read()
"""


@pytest.fixture
def hurried(caller: Caller, new_app: NewApp, monkeypatch: pytest.MonkeyPatch) -> Caller:
    """Our club in a service that waits a second for another writer."""
    monkeypatch.setenv("TACTICAPI_DB_LOCK", "1")
    return Caller(new_app(), caller.token, caller.club)


@contextmanager
def locked(services: Services) -> Iterator[None]:
    """Another process holds the database: every writer of a SQLite file, every reader and writer of PostgreSQL."""
    if is_sqlite(services.engine):
        command = [sys.executable, "-c", HOLDER, str(services.engine.url.database)]
        with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as holder:
            assert holder.stdout.readline() == "held\n"
            yield
            holder.kill()
        return
    with psycopg.connect(_plain(services)) as other:
        other.execute("LOCK TABLE points, observations IN ACCESS EXCLUSIVE MODE")
        yield


@contextmanager
def full(services: Services) -> Iterator[None]:
    """The disk takes no more: files may not grow, or the server says that it cannot make them grow."""
    if is_sqlite(services.engine):
        limits = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (MAX_FILE_BYTES, limits[1]))
        try:
            yield
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        return
    with refusing(services, "disk_full", "could not extend file: No space left on device", "observations"):
        yield


@contextmanager
def newer(services: Services) -> Iterator[None]:
    """Another host has upgraded the database meanwhile."""

    def stamp(version: str) -> None:
        with services.engine.begin() as connection:
            connection.execute(text("UPDATE alembic_version SET version_num = :version"), {"version": version})

    with services.engine.connect() as connection:
        ours = connection.scalar(text("SELECT version_num FROM alembic_version"))
    stamp("9999")
    try:
        yield
    finally:
        stamp(ours)


@contextmanager
def unwritable(services: Services) -> Iterator[None]:
    """No connection may write, as on a file system that takes nothing or a server that only follows another."""
    if is_sqlite(services.engine):
        for setting in ("ON", "OFF"):
            connection = services.engine.raw_connection()  # the one that the pool gives again
            connection.cursor().execute(f"PRAGMA query_only={setting}")
            connection.close()
            if setting == "ON":
                yield
        return
    why = "cannot write in a read-only transaction"
    with refusing(services, "read_only_sql_transaction", why, "observations", "snapshots", "tokens"):
        yield


@contextmanager
def refusing(services: Services, code: str, why: str, *tables: str) -> Iterator[None]:
    """PostgreSQL refuses every change of these tables with this error."""
    raises = f"BEGIN RAISE EXCEPTION '{why}' USING ERRCODE = '{code}'; END"
    with psycopg.connect(_plain(services), autocommit=True) as server:
        server.execute(f"CREATE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS $$ {raises} $$")
        for table in tables:
            on = f"BEFORE INSERT OR UPDATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION refuse()"
            server.execute(f"CREATE TRIGGER refuse {on}")
        try:
            yield
        finally:
            server.execute("DROP FUNCTION refuse() CASCADE")


def _plain(services: Services) -> str:
    return services.engine.url.set(drivername="postgresql").render_as_string(hide_password=False)


def away(response: Any) -> bool:
    assert response.status_code == 503, response.text
    assert response.json["type"] == "/problems/database-away"
    assert int(response.headers["Retry-After"]) > 0
    assert response.content_type == "application/problem+json"
    return True


@ON_BOTH_ENGINES
@pytest.mark.parametrize("trouble", [locked, full])
def test_what_the_database_cannot_take_now_is_answered_and_taken_later(hurried, played, trouble):
    address, many = f"{played.address}/observations", [NOTED] * 1000
    with trouble(services_of(hurried.app)):
        assert away(hurried.post(address, many, headers=KEY))
        assert hurried.get(played.address).status_code == 200
        assert hurried.get("/livez").status_code == 200
    assert hurried.get(address).json == {"items": []}
    added = hurried.made(address, many, headers=KEY)
    assert hurried.made(address, many, headers=KEY) == added
    assert [item["sequence"] for item in added["items"]] == list(range(1, 1001))


@ON_BOTH_ENGINES
def test_readers_of_a_file_go_on_while_another_writes(hurried, played):
    services = services_of(hurried.app)
    with locked(services):
        response = hurried.get(f"{played.address}/points")
        assert response.status_code == 200 if is_sqlite(services.engine) else away(response)


def test_a_server_that_was_stopped_is_answered_and_used_again_once_it_is_back(adviser, tmp_path):
    with own_server(tmp_path) as server:
        url = server.new_database()
        upgrade(url)
        app = create_app({"ADVISER": adviser, "DATABASE_URL": url, "LOCAL": True})
        here = Caller(app, None)
        made = here.made("/v1/players", {"side": "own", "label": "Larch"})
        server.stop()
        for _ in range(2):
            assert away(here.get("/v1/players"))
            assert away(here.post("/v1/players", {"side": "own", "label": "Elm"}, headers=KEY))
        assert away(here.get("/readyz"))
        assert here.get("/livez").status_code == 200
        assert here.post("/v1/suggestions", {"moment": "set-break"}).status_code == 200
        server.start()
        assert here.get("/v1/players").json["items"] == [made]
        here.made("/v1/players", {"side": "own", "label": "Elm"}, headers=KEY)
        services_of(app).engine.dispose()


@pytest.mark.parametrize("kept_url", ["postgresql"], indirect=True, scope="session")  # a file has no busy server
def test_a_statement_that_takes_too_long_is_given_up(hurried, new_app, played, monkeypatch):
    services = services_of(hurried.app)
    hurried.made(f"{played.address}/points", {"winner": "own"})
    monkeypatch.setenv("TACTICAPI_DB_STATEMENT", "1")
    impatient = Caller(new_app(), hurried.token)
    with services.engine.begin() as connection:
        connection.execute(text("ALTER TABLE points RENAME TO points_kept"))
        connection.execute(text("CREATE VIEW points AS SELECT p.* FROM points_kept p, pg_sleep(3)"))
    try:
        assert away(impatient.get(f"{played.address}/score"))
    finally:
        with services.engine.begin() as connection:
            connection.execute(text("DROP VIEW points"))
            connection.execute(text("ALTER TABLE points_kept RENAME TO points"))
    assert impatient.get(f"{played.address}/score").status_code == 200


def test_a_database_that_is_not_there_is_answered(new_app, tmp_path, caller):
    app: Flask = new_app(address=file_url(tmp_path / "no such folder" / "club.db"))
    assert away(Caller(app, caller.token).get("/v1/players"))
    assert away(app.test_client().get("/readyz"))
    assert app.test_client().get("/livez").status_code == 200
    assert app.test_client().post("/v1/suggestions", json={"moment": "set-break"}).status_code == 200


def test_readiness_includes_the_schema(new_app, tmp_path, services):
    assert new_app().test_client().get("/readyz").json.get("database") == services.engine.dialect.name
    response = new_app(address=file_url(tmp_path / "empty.db")).test_client().get("/readyz")
    assert (response.status_code, response.json["type"]) == (503, "/problems/not-ready")
    assert "tacticapi db upgrade" in response.json["detail"]


@pytest.fixture
def going_on(caller: Caller, under_way: Any) -> Any:
    """A match with advice, and a token that was last used on another day."""
    assert caller.get(f"{under_way.address}/suggestions?{NOW}").status_code == 200
    with services_of(caller.app).work(caller.club) as work:
        for token in work.tokens.find():
            work.tokens.update(token.id, {"last_used": None})
    return under_way


def reads_and_advice_go_on(caller: Caller, match: Any) -> None:
    for address in (match.address, f"{match.address}/observations", f"{match.address}/advice", "/v1/players"):
        assert caller.get(address).status_code == 200, address
    held = caller.get(f"{match.address}/suggestions?{NOW}").json
    assert NOT_KEPT not in held["notice"]  # it was stored before
    fresh = caller.get(f"{match.address}/suggestions?{NOW}&limit=1").json
    assert fresh["suggestions"]
    assert NOT_KEPT in fresh["notice"]
    assert caller.get(f"/v1/advice/{fresh['advice_id']}").status_code == 404


@ON_BOTH_ENGINES
@pytest.mark.parametrize(("trouble", "problem"), [(newer, "not-ready"), (unwritable, "database-away")])
def test_what_cannot_be_written_is_refused_and_all_else_goes_on(caller, going_on, trouble, problem):
    address = f"{going_on.address}/observations"
    with trouble(services_of(caller.app)):
        refused = caller.post(address, SEEN, headers=KEY)
        assert (refused.status_code, refused.json["type"]) == (503, f"/problems/{problem}")
        assert trouble is unwritable or "newer version" in refused.json["detail"]
        reads_and_advice_go_on(caller, going_on)
    assert caller.post(address, SEEN, headers=KEY).status_code == 201


READ = """
import os, sys
from tacticapi.club import Services, matches
from tacticapi.store.engine import open_engine, open_memory
open_memory().connect().close()  # all that is imported is now
if os.getuid() == 0:  # who may write to everything
    os.setgid(65534), os.setuid(65534)
services = Services(open_engine(sys.argv[1]), None)
print(len(matches.find(services, sys.argv[2])))
try:
    with services.work(sys.argv[2]) as work:
        print(work.clubs.update(sys.argv[2], {"label": "Taken"}))
except Exception as error:
    print(type(error).__name__)
"""


def test_a_file_that_may_only_be_read_is_read(caller, going_on, tmp_path):
    """As after a start on a file system that was mounted read-only; the folder takes no log either."""
    services = services_of(caller.app)
    folder = tmp_path / "only to read"
    folder.mkdir()
    backup(file_url(str(services.engine.url.database)), folder / "club.db")
    for path, mode in ((folder / "club.db", 0o444), (folder, 0o555)):
        path.chmod(mode)
    for parent in folder.parents:
        parent.chmod(0o755)
        if parent.name.startswith("pytest-of"):  # those above are open to others already
            break
    command = [sys.executable, "-c", READ, file_url(folder / "club.db"), caller.club]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd="/")
    folder.chmod(0o755)
    assert done.stdout.split() == ["1", "OperationalError"], done.stderr
