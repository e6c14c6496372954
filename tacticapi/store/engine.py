"""Open the database, SQLite or PostgreSQL, so that every acknowledged commit is on disk."""

import contextlib
import os
import sqlite3
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, cast

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import Dialect, make_url
from sqlalchemy.exc import InternalError, OperationalError, TimeoutError
from sqlalchemy.pool import StaticPool

from tacticapi import settings

# errors of a database that is unusable now: locked, full, read-only, unreachable, shutting down, or without a free
# connection in the pool in time
AWAY: tuple[type[Exception], ...] = (OperationalError, InternalError, TimeoutError)
MS_PER_S = 1_000
PRIVATE = 0o600  # access for the service's user only
READ_ONLY = "tacticapi_read_only"
_PRAGMAS = (
    "journal_mode=WAL",
    "synchronous=FULL",  # in WAL, NORMAL may lose the last commits when the power fails
    "foreign_keys=ON",
    "secure_delete=ON",  # erased data is overwritten, not only unlinked
    "temp_store=MEMORY",  # no other file holds part of the data
)
_DRIVERS = {"postgres": "postgresql+psycopg", "postgresql": "postgresql+psycopg", "sqlite": "sqlite"}


def database_url(environment: Mapping[str, str] = os.environ) -> str:
    """Return DATABASE_URL (postgresql:// or sqlite:///), or else the SQLite file TACTICAPI_DB. Raises ValueError."""
    if url := settings.DATABASE_URL.read(environment):
        return normalised(url)
    return file_url(settings.DB.read(environment))


def normalised(url: str) -> str:
    """Return the address with our driver for its engine. Raises ValueError for an unsupported engine."""
    scheme, found, rest = url.partition("://")
    engine = scheme.partition("+")[0]
    if not found or engine not in _DRIVERS:
        # the address may contain a password, so the message shows only its first part
        raise ValueError(f"DATABASE_URL begins with {scheme.split(':')[0]!r}; use postgresql:// or sqlite:///")
    return f"{_DRIVERS[engine]}://{rest}"


def file_url(path: str | Path) -> str:
    """Return the address of a SQLite file."""
    return f"sqlite:///{Path(path)}"


def open_engine(url: str, *, lock_s: int | None = None, statement_s: int | None = None) -> Engine:
    """Return a database engine: one per process, opened after a fork. Its errors contain no values, such as names.

    `lock_s` and `statement_s` override the configured seconds to wait for another writer and for one statement (0: no
    limit). Raises ValueError for an invalid address.
    """
    url, connect_s = normalised(url), settings.DB_CONNECT.read()
    lock_s = settings.DB_LOCK.read() if lock_s is None else lock_s
    statement_s = settings.DB_STATEMENT.read() if statement_s is None else statement_s
    if make_url(url).get_backend_name() != "sqlite":
        timeouts = {"lock_timeout": lock_s, "statement_timeout": statement_s}
        options = " ".join(f"-c {name}={seconds * MS_PER_S}" for name, seconds in timeouts.items())
        return create_engine(
            url,
            pool_pre_ping=True,
            pool_timeout=connect_s,
            hide_parameters=True,
            connect_args={"connect_timeout": connect_s, "options": options},
        )
    engine = create_engine(url, hide_parameters=True)
    event.listen(engine, "do_connect", _connect_sqlite)
    return _set_up(engine, lock_s * MS_PER_S)


@contextlib.contextmanager
def opened(url: str, **limits: int) -> Iterator[Engine]:
    """Open a database as `open_engine` does, and close all its connections at the end."""
    engine = open_engine(url, **limits)
    try:
        yield engine
    finally:
        engine.dispose()


def is_sqlite(engine: Engine) -> bool:
    """Return whether the engine is SQLite."""
    return engine.dialect.name == "sqlite"


def _connect_sqlite(dialect: Dialect, record: Any, arguments: list[str], options: dict[str, Any]) -> Any:
    """Connect to a file; a missing file is created with private access. SQLite gives its log the same mode.

    A read-only file that was closed properly has no log and cannot get one, so it is opened as immutable.
    """
    path = arguments[0]
    with contextlib.suppress(OSError):  # SQLite has the better message
        os.close(os.open(path, os.O_CREAT, PRIVATE))
    if Path(path).exists() and not os.access(path, os.W_OK) and not Path(f"{path}-wal").exists():
        return dialect.connect(f"{Path(path).absolute().as_uri()}?mode=ro&immutable=1", **options, uri=True)
    return dialect.connect(*arguments, **options)


def _set_up(engine: Engine, busy_timeout_ms: int) -> Engine:
    @event.listens_for(engine, "connect")
    def connect(connection: sqlite3.Connection, record: Any) -> None:
        connection.isolation_level = None  # we begin transactions ourselves, not at the first change
        for pragma in (f"busy_timeout={busy_timeout_ms}", *_PRAGMAS):
            connection.execute(f"PRAGMA {pragma}").close()

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        # a writer takes the lock at once, since taking it later would fail instead of waiting
        reads = connection.get_execution_options().get(READ_ONLY, False)
        connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")

    return engine


def open_memory() -> Engine:
    """Return an engine for an empty SQLite database in memory: one connection, no schema, lost with the engine."""
    engine = create_engine(
        "sqlite://", poolclass=StaticPool, hide_parameters=True, connect_args={"check_same_thread": False}
    )
    return _set_up(engine, 0)


def saved(engine: Engine) -> bytes:
    """Return the full content of an in-memory database."""
    with engine.connect() as connection:
        return _sqlite(connection).serialize()


def restore(engine: Engine, content: bytes) -> None:
    """Replace the content of an in-memory database with a result of `saved`."""
    with engine.connect() as connection:
        _sqlite(connection).deserialize(content)


def _sqlite(connection: Connection) -> sqlite3.Connection:
    return cast(sqlite3.Connection, connection.connection.driver_connection)
