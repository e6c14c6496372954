"""Maintain a database: upgrade and check its schema, and back it up while it is in use."""

import os
import sqlite3
from contextlib import closing
from functools import cache
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text
from sqlalchemy.engine import make_url

from tacticapi.store.engine import PRIVATE, is_sqlite, normalised, open_memory, opened, restore, saved
from tacticapi.store.tables import METADATA

SCHEMA = "0005"  # the newest migration, which this version reads and writes
VERSION_TABLE = "alembic_version"
MIGRATIONS = Path(__file__).parent / "migrations"
LOCK = 7_162_026  # an arbitrary number that nothing else uses for an advisory lock
MEND = "tacticapi db upgrade"
PAGES_AT_ONCE = 1_000
MAX_WAIT_S = 3_600  # for another process that changes the schema


def upgrade(url: str) -> bool:
    """Create or upgrade the schema in one transaction; return whether it is new. Concurrent upgrades wait in turn."""
    with opened(url, lock_s=MAX_WAIT_S, statement_s=0) as engine:
        return _upgrade(engine)


def in_memory() -> Engine:
    """Return an engine for an empty in-memory database with this version's schema."""
    engine = open_memory()
    restore(engine, _empty())
    return engine


@cache
def _empty() -> bytes:
    engine = open_memory()
    _upgrade(engine)
    content = saved(engine)
    engine.dispose()
    return content


def _upgrade(engine: Engine) -> bool:
    from alembic import command  # noqa: PLC0415  (a sixth of the time that a short command takes)
    from alembic.config import Config  # noqa: PLC0415

    config = Config()  # created in code, so that no file is needed
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    with engine.begin() as connection:
        if not is_sqlite(engine):  # a SQLite transaction holds the lock from its beginning
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
        config.attributes["connection"] = connection
        if there := inspect(connection).has_table(VERSION_TABLE):
            command.upgrade(config, "head")
        else:
            METADATA.create_all(connection)
            command.stamp(config, "head")
    return not there


def check(url: str) -> str | None:
    """Return None if the schema is this version's, else a message that names the command to fix it."""
    with opened(url) as engine, engine.connect() as connection:
        found = found_schema(connection) if inspect(connection).has_table(VERSION_TABLE) else None
    return None if found == SCHEMA else schema_fault(found)


def found_schema(connection: Connection) -> str | None:
    """Return a database's schema version; None if it has none."""
    found: str | None = connection.scalar(text(f"SELECT version_num FROM {VERSION_TABLE}"))  # nosec B608
    return found


def schema_fault(found: str | None) -> str:
    """Return a message on how to fix another version's schema."""
    if found is not None and found > SCHEMA:
        return f"the database was made by a newer version (schema {found}, here {SCHEMA}): install that version"
    return f"the database has {f'schema {found}' if found else 'no schema'}, this version needs {SCHEMA}: run `{MEND}`"


def truncate_log(engine: Engine) -> bool:
    """Clear erased data from a SQLite file's write-ahead log; return False if a reader blocks this."""
    if not is_sqlite(engine):
        return True
    with closing(engine.raw_connection()) as connection:
        busy: int = connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
    return not busy


class BackupRefused(Exception):
    """No backup was made; the message says what to do."""


def backup(url: str, path: Path) -> None:
    """Write a complete copy of a SQLite database to a new file. On failure, raises BackupRefused and leaves no file."""
    if path.exists():
        raise BackupRefused(f"{path} already exists: choose a new file")
    address = make_url(normalised(url))
    if address.get_backend_name() != "sqlite":
        raise BackupRefused("this copies SQLite files: back up PostgreSQL with pg_dump")
    source = Path(address.database or "")
    if not source.is_file():
        raise BackupRefused(f"{source} does not exist: check DATABASE_URL and TACTICAPI_DB")
    unfinished = path.with_name(path.name + ".unfinished")
    os.close(os.open(unfinished, os.O_CREAT, PRIVATE))
    try:
        with closing(sqlite3.connect(source)) as live, closing(sqlite3.connect(unfinished)) as copy:
            live.backup(copy, pages=PAGES_AT_ONCE)
        unfinished.rename(path)
    finally:
        unfinished.unlink(missing_ok=True)
