"""Where the data is kept and how long it may let wait, read from the environment in this one place."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from tacticapi import settings

LONGEST_S = 3_600
_DRIVERS = {"postgres": "postgresql+psycopg", "postgresql": "postgresql+psycopg", "sqlite": "sqlite"}


def database_url(environment: Mapping[str, str] = os.environ) -> str:
    """The address of the database: DATABASE_URL, else the SQLite file in TACTICAPI_DB, else one in this folder.

    DATABASE_URL may be postgresql:// (also postgres://) or sqlite:///. Raises ValueError for any other.
    """
    if url := settings.DATABASE_URL.read(environment):
        return normalised(url)
    return file_url(settings.DB.read(environment))


def normalised(url: str) -> str:
    """The address with the driver that we use. Raises ValueError for an engine that we do not know."""
    scheme, found, rest = url.partition("://")
    engine = scheme.partition("+")[0]
    if not found or engine not in _DRIVERS:
        # the address may hold a password, so only its first part is told
        raise ValueError(f"DATABASE_URL begins with {scheme.split(':')[0]!r}; use postgresql:// or sqlite:///")
    return f"{_DRIVERS[engine]}://{rest}"


def file_url(path: str | Path) -> str:
    """The address of a SQLite file."""
    return f"sqlite:///{Path(path)}"


@dataclass(frozen=True, slots=True)
class Patience:
    """How long a request waits, in whole seconds: for a connection, for another writer, for one statement (0: ever)."""

    connect_s: int
    lock_s: int
    statement_s: int


def patience(environment: Mapping[str, str] = os.environ) -> Patience:
    """As the environment says. Raises ValueError for what cannot be."""
    return Patience(
        settings.DB_CONNECT.read(environment),
        settings.DB_LOCK.read(environment),
        settings.DB_STATEMENT.read(environment),
    )


def unhurried(environment: Mapping[str, str] = os.environ) -> Patience:
    """For a change of the schema, which takes as long as it takes and waits for another who changes it."""
    return Patience(settings.DB_CONNECT.read(environment), LONGEST_S, statement_s=0)
