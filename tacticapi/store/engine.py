"""The two engines, set up so that a commit that was acknowledged is on the disk."""

import sqlite3
from functools import partial
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url

from tacticapi.store.settings import Patience, normalised, patience

__all__ = ["Engine", "is_sqlite", "open_engine"]

MS_PER_S = 1_000
READ_ONLY = "tacticapi_read_only"
_PRAGMAS = (
    "journal_mode=WAL",
    "synchronous=FULL",  # in WAL, NORMAL may lose the last commits when the power fails
    "foreign_keys=ON",
    "secure_delete=ON",  # what is erased is overwritten, not only unlinked
)


def open_engine(url: str, waits: Patience | None = None) -> Engine:
    """The engine of a database. Open it after a fork, one a process: connections cannot be shared.

    SQLite: write-ahead log, foreign keys on. PostgreSQL: through psycopg. Errors tell no values, which may name
    people. waits: how long the database may let a request wait, as the environment says where it is None.
    """
    url, waits = normalised(url), waits or patience()
    if make_url(url).get_backend_name() != "sqlite":
        return create_engine(
            url,
            pool_pre_ping=True,
            pool_timeout=waits.connect_s,
            hide_parameters=True,
            connect_args={"connect_timeout": waits.connect_s, "options": _postgresql_options(waits)},
        )
    engine = create_engine(url, hide_parameters=True)
    event.listen(engine, "connect", partial(_set_up_sqlite, waits.lock_s * MS_PER_S))
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _postgresql_options(waits: Patience) -> str:
    """Settings of each session; 0 lets wait for ever."""
    timeouts = {"lock_timeout": waits.lock_s, "statement_timeout": waits.statement_s}
    return " ".join(f"-c {name}={seconds * MS_PER_S}" for name, seconds in timeouts.items())


def is_sqlite(engine: Engine) -> bool:
    """Whether it is a SQLite file."""
    return engine.dialect.name == "sqlite"


def _set_up_sqlite(busy_timeout_ms: int, connection: sqlite3.Connection, record: Any) -> None:
    connection.isolation_level = None  # transactions begin where we say, not at the first change
    for pragma in (f"busy_timeout={busy_timeout_ms}", *_PRAGMAS):
        connection.execute(f"PRAGMA {pragma}").close()


def _begin_sqlite(connection: Connection) -> None:
    """A writer asks for the lock at once: one that asks halfway cannot wait for another, only fail."""
    reads = connection.get_execution_options().get(READ_ONLY, False)
    connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")
