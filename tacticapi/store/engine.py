"""The two engines, set up so that a commit that was acknowledged is on the disk."""

import sqlite3
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url

from tacticapi.store.settings import normalised

__all__ = ["Engine", "is_sqlite", "open_engine"]

BUSY_TIMEOUT_MS = 15_000
READ_ONLY = "tacticapi_read_only"
_PRAGMAS = (
    f"busy_timeout={BUSY_TIMEOUT_MS}",
    "journal_mode=WAL",
    "synchronous=FULL",  # in WAL, NORMAL may lose the last commits when the power fails
    "foreign_keys=ON",
    "secure_delete=ON",  # what is erased is overwritten, not only unlinked
)


def open_engine(url: str) -> Engine:
    """The engine of a database. Open it after a fork, one a process: connections cannot be shared.

    SQLite: write-ahead log, foreign keys on, waits up to 15 s for another writer. PostgreSQL: through psycopg. Errors
    tell no values, which may name people.
    """
    url = normalised(url)
    if make_url(url).get_backend_name() != "sqlite":
        return create_engine(url, pool_pre_ping=True, hide_parameters=True)
    engine = create_engine(url, hide_parameters=True)
    event.listen(engine, "connect", _set_up_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def is_sqlite(engine: Engine) -> bool:
    """Whether it is a SQLite file."""
    return engine.dialect.name == "sqlite"


def _set_up_sqlite(connection: sqlite3.Connection, record: Any) -> None:
    connection.isolation_level = None  # transactions begin where we say, not at the first change
    for pragma in _PRAGMAS:
        connection.execute(f"PRAGMA {pragma}").close()


def _begin_sqlite(connection: Connection) -> None:
    """A writer asks for the lock at once: one that asks halfway cannot wait for another, only fail."""
    reads = connection.get_execution_options().get(READ_ONLY, False)
    connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")
