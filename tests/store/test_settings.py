"""Where the data is kept and how long it may let wait, by the environment."""

import socket
import time

import pytest
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from tacticapi.store import database_url, open_engine
from tacticapi.store.engine import Patience, is_sqlite, patience


def test_without_any_setting_it_is_a_file_in_this_folder() -> None:
    assert database_url({}) == "sqlite:///tacticapi.db"


def test_a_path_names_the_file() -> None:
    assert database_url({"TACTICAPI_DB": "/var/lib/tacticapi/club.db"}) == "sqlite:////var/lib/tacticapi/club.db"


@pytest.mark.parametrize("scheme", ["postgres", "postgresql", "postgresql+psycopg"])
def test_an_address_stands_above_the_path_and_gets_our_driver(scheme: str) -> None:
    settings = {"DATABASE_URL": f"{scheme}://u:p@db/club", "TACTICAPI_DB": "other.db"}
    assert database_url(settings) == "postgresql+psycopg://u:p@db/club"


def test_another_engine_is_refused_without_telling_the_password() -> None:
    with pytest.raises(ValueError, match="use postgresql") as refused:
        database_url({"DATABASE_URL": "mysql://u:hidden@db/club"})
    assert "hidden" not in str(refused.value)


def test_how_long_the_database_may_let_wait_is_a_setting() -> None:
    assert patience({}) == Patience(connect_s=5, lock_s=10, statement_s=20)
    given = {"TACTICAPI_DB_CONNECT": "1", "TACTICAPI_DB_LOCK": "2", "TACTICAPI_DB_STATEMENT": "0"}
    assert patience(given) == Patience(connect_s=1, lock_s=2, statement_s=0)
    with pytest.raises(ValueError, match="TACTICAPI_DB_LOCK"):
        patience({"TACTICAPI_DB_LOCK": "soon"})


def test_every_session_is_opened_with_it(url: str) -> None:
    engine = open_engine(url, Patience(connect_s=3, lock_s=2, statement_s=7))
    asked = ("PRAGMA busy_timeout",) if is_sqlite(engine) else ("SHOW lock_timeout", "SHOW statement_timeout")
    with engine.connect() as connection:
        found = [connection.execute(text(one)).scalar() for one in asked]
    engine.dispose()
    assert found == ([2_000] if is_sqlite(engine) else ["2s", "7s"])


def test_a_server_that_does_not_answer_is_given_up_soon() -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        url = f"postgresql://court@127.0.0.1:{silent.getsockname()[1]}/club"
        engine, start = open_engine(url, Patience(connect_s=2, lock_s=2, statement_s=2)), time.monotonic()
        with pytest.raises(OperationalError):
            engine.connect()
        assert time.monotonic() - start < 10
        engine.dispose()
