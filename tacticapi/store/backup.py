"""A copy of the database while it is in use."""

import os
import shutil
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path

from sqlalchemy import URL
from sqlalchemy.engine import make_url

from tacticapi.store.settings import normalised

PAGES_AT_ONCE = 1_000


class BackupRefused(Exception):
    """No backup was made; the text says what to do."""


def backup(url: str, path: Path, pg_dump: str | Path | None = None) -> None:
    """Write a complete copy to a new file: a SQLite file, or a pg_dump archive (restore with pg_restore).

    pg_dump: the program to use on PostgreSQL; None looks on the PATH. Raises BackupRefused when the file is there
    already, when there is no pg_dump, and when it fails. A copy that fails leaves no file behind.
    """
    if path.exists():
        raise BackupRefused(f"{path} is there already: choose a new file")
    address = make_url(normalised(url))
    unfinished = path.with_name(path.name + ".unfinished")
    try:
        if address.get_backend_name() == "sqlite":
            _copy_sqlite(address, unfinished)
        else:
            _dump_postgresql(address, unfinished, pg_dump)
        unfinished.rename(path)
    finally:
        unfinished.unlink(missing_ok=True)


def _copy_sqlite(address: URL, path: Path) -> None:
    source = Path(address.database or "")
    if not source.is_file():
        raise BackupRefused(f"{source} is not there: check DATABASE_URL and TACTICAPI_DB")
    with closing(sqlite3.connect(source)) as live, closing(sqlite3.connect(path)) as copy:
        live.backup(copy, pages=PAGES_AT_ONCE)


def _dump_postgresql(address: URL, path: Path, pg_dump: str | Path | None) -> None:
    program = pg_dump or shutil.which("pg_dump")
    if program is None:
        raise BackupRefused(
            "pg_dump is not on the PATH: install PostgreSQL's client programs, or back up at the server"
        )
    bare = URL.create("postgresql", address.username, None, address.host, address.port, address.database, address.query)
    done = subprocess.run(
        [str(program), "--format=custom", f"--file={path}", f"--dbname={bare.render_as_string()}"],
        # not in an argument, which every user of the host could read
        env={**os.environ, **({"PGPASSWORD": str(address.password)} if address.password else {})},
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode != 0:
        raise BackupRefused(f"pg_dump failed: {done.stderr.strip()}")
