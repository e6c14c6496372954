"""A database that may be read and not written: of a newer version, full, or read-only. Reads and advice go on."""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
import pytest
from sqlalchemy import text

from tacticapi.club import Services, clubs
from tacticapi.club.advising import NOT_KEPT
from tacticapi.store.engine import is_sqlite

from .conftest import Caller, NewApp, services_of

NOW = "moment=change-of-ends"
SEEN = {"what": "serve.followed_to_net", "count": 5, "of": 6}
FOLLOWS = """
CREATE FUNCTION follows() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'cannot write in a read-only transaction' USING ERRCODE = 'read_only_sql_transaction'; END $$;
""" + "".join(
    f"CREATE TRIGGER follows BEFORE INSERT OR UPDATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION follows();"
    for table in ("observations", "snapshots", "tokens")
)


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
    address = services.engine.url.set(drivername="postgresql").render_as_string(hide_password=False)
    with psycopg.connect(address, autocommit=True) as server:
        server.execute(FOLLOWS)
        try:
            yield
        finally:
            server.execute("DROP FUNCTION follows() CASCADE")


@pytest.fixture
def going_on(caller: Caller, under_way: Any) -> Any:
    """A match with advice, and a token that was last used on another day."""
    assert caller.get(f"{under_way.address}/suggestions?{NOW}").status_code == 200
    with services_of(caller.app).work(caller.club) as work:
        for token in work.tokens.find():
            work.tokens.update(token.id, {"last_used": None})
        work.commit()
    return under_way


def test_a_newer_schema_is_not_written_to_and_the_problem_says_so(caller: Caller, going_on: Any) -> None:
    with newer(services_of(caller.app)):
        refused = caller.post(f"{going_on.address}/observations", SEEN, headers={"Idempotency-Key": "a"})
        assert (refused.status_code, refused.json["type"]) == (503, "/problems/not-ready")
        assert "newer version" in refused.json["detail"]
        reads_and_advice_go_on(caller, going_on)
    assert caller.post(f"{going_on.address}/observations", SEEN, headers={"Idempotency-Key": "a"}).status_code == 201


def reads_and_advice_go_on(caller: Caller, match: Any) -> None:
    for address in (match.address, f"{match.address}/observations", f"{match.address}/advice", "/v1/players"):
        assert caller.get(address).status_code == 200, address
    held = caller.get(f"{match.address}/suggestions?{NOW}").json
    assert NOT_KEPT not in held["notice"]  # it was stored before
    fresh = caller.get(f"{match.address}/suggestions?{NOW}&limit=1").json
    assert fresh["suggestions"]
    assert NOT_KEPT in fresh["notice"]
    assert caller.get(f"/v1/advice/{fresh['advice_id']}").status_code == 404


def test_what_cannot_be_written_is_refused_and_all_else_goes_on(caller: Caller, going_on: Any) -> None:
    with unwritable(services_of(caller.app)):
        refused = caller.post(f"{going_on.address}/observations", SEEN)
        assert (refused.status_code, refused.json["type"]) == (503, "/problems/database-away")
        reads_and_advice_go_on(caller, going_on)
    assert caller.post(f"{going_on.address}/observations", SEEN).status_code == 201


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


def test_a_file_that_may_only_be_read_is_read(caller: Caller, going_on: Any, tmp_path: Path) -> None:
    """As after a start on a file system that was mounted read-only; the folder takes no log either."""
    services = services_of(caller.app)
    if not is_sqlite(services.engine):
        assert services.engine.dialect.name == "postgresql"  # whose files are the server's
        return
    from tacticapi.store import backup
    from tacticapi.store.engine import file_url

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


def test_where_clubs_have_tokens_calculations_need_one_too(new_app: NewApp, services: Services, caller: Caller) -> None:
    body = {"point_chances": {"own_serve": 0.6, "opponent_serve": 0.6}}
    app = new_app()
    stranger = app.test_client().post("/v1/calculations/win-chance", json=body)
    assert (stranger.status_code, stranger.json["type"]) == (401, "/problems/token-needed")
    assert Caller(app, caller.token).post("/v1/calculations/win-chance", body).status_code == 200
    reader = clubs.create_token(services, caller.club, "reader", ["read"]).text
    assert Caller(app, reader).post("/v1/calculations/win-chance", body).status_code == 403
