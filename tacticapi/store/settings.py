"""Where the data is kept, read from the environment in this one place."""

import os
from collections.abc import Mapping
from pathlib import Path

DEFAULT_FILE = "tacticapi.db"
_DRIVERS = {"postgres": "postgresql+psycopg", "postgresql": "postgresql+psycopg", "sqlite": "sqlite"}


def database_url(environment: Mapping[str, str] = os.environ) -> str:
    """The address of the database: DATABASE_URL, else the SQLite file in TACTICAPI_DB, else one in this folder.

    DATABASE_URL may be postgresql:// (also postgres://) or sqlite:///. Raises ValueError for any other.
    """
    if url := environment.get("DATABASE_URL"):
        return normalised(url)
    return file_url(environment.get("TACTICAPI_DB") or DEFAULT_FILE)


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
