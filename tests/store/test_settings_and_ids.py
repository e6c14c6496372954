"""Where the data is kept by the environment, how long a request waits, and ids that sort by time."""

import socket
import time
import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from tacticapi.store import database_url, is_id, new_id, open_engine
from tacticapi.store.engine import is_sqlite
from tacticapi.store.tables import NS_PER_MS, ticks, uuid7

MOMENTS = st.integers(0, 2**48 * NS_PER_MS - 1)


@pytest.mark.parametrize(
    ("settings", "address"),
    [
        ({}, "sqlite:///tacticapi.db"),
        ({"TACTICAPI_DB": "/var/lib/tacticapi/club.db"}, "sqlite:////var/lib/tacticapi/club.db"),
        *(
            ({"DATABASE_URL": f"{scheme}://u:p@db/club", "TACTICAPI_DB": "x.db"}, "postgresql+psycopg://u:p@db/club")
            for scheme in ("postgres", "postgresql", "postgresql+psycopg")
        ),
    ],
)
def test_the_environment_names_the_database(settings, address):
    assert database_url(settings) == address


def test_how_long_the_database_may_let_wait_is_a_setting(url, monkeypatch):
    for name, seconds in (("CONNECT", "3"), ("LOCK", "2"), ("STATEMENT", "7")):
        monkeypatch.setenv(f"TACTICAPI_DB_{name}", seconds)
    engine = open_engine(url)
    asked = ("PRAGMA busy_timeout",) if is_sqlite(engine) else ("SHOW lock_timeout", "SHOW statement_timeout")
    with engine.connect() as connection:
        found = [connection.execute(text(one)).scalar() for one in asked]
    engine.dispose()
    assert found == ([2_000] if is_sqlite(engine) else ["2s", "7s"])
    monkeypatch.setenv("TACTICAPI_DB_LOCK", "soon")
    with pytest.raises(ValueError, match="TACTICAPI_DB_LOCK"):
        open_engine(url)


def test_a_server_that_does_not_answer_is_given_up_soon(monkeypatch):
    monkeypatch.setenv("TACTICAPI_DB_CONNECT", "2")
    with socket.create_server(("127.0.0.1", 0)) as silent:
        url = f"postgresql://court@127.0.0.1:{silent.getsockname()[1]}/club"
        engine, start = open_engine(url), time.monotonic()
        with pytest.raises(OperationalError):
            engine.connect()
        assert time.monotonic() - start < 10
        engine.dispose()


@given(MOMENTS, st.integers(245, 10**12))
def test_ids_are_those_of_the_rfc_and_sort_by_time(unix_ns, later):
    made = uuid7(ticks(unix_ns))
    assert made.int >> 80 == unix_ns // NS_PER_MS
    assert ((made.int >> 76) & 0xF, (made.int >> 62) & 0b11, made.variant) == (7, 0b10, uuid.RFC_4122)
    if unix_ns + later < 2**48 * NS_PER_MS:  # the fraction counts in steps of 1/4096 ms
        assert str(made) < str(uuid7(ticks(unix_ns + later)))


def test_ids_differ_and_are_known_as_ids():
    # RFC 9562, appendix A.6: 2022-02-22 14:22:22.000 GMT-05:00 is 0x017F22E279B0
    assert str(uuid7(ticks(0x017F22E279B0 * NS_PER_MS))).startswith("017f22e2-79b0-7")
    made = {new_id() for _ in range(1000)}
    assert len(made) == 1000
    assert all(is_id(one) for one in made)
    for one in ("", "1", "\x00", "017F22E2-79B0-7CC3-98C4-DC0C0C07398F", "017f22e279b07cc398c4dc0c0c07398f", "é" * 36):
        assert not is_id(one)
