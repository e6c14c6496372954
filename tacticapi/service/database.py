"""The database behind the use cases, for whoever runs them: where it is, opened, checked, and when it is away."""

from collections.abc import Mapping

from tacticapi import store
from tacticapi.advice import Adviser
from tacticapi.service.desk import Desk
from tacticapi.store import failures

AWAY = failures.AWAY  # what the database raises while it is locked, full or away


def address(environment: Mapping[str, str]) -> str | None:
    """Return the address of the database that the environment names. Raises ValueError for one that cannot be."""
    return store.database_url(environment)


def opened(url: str, adviser: Adviser) -> Desk:
    """Return a desk over this database; nothing is connected to yet. Raises ValueError for an unknown engine."""
    return Desk(store.open_engine(url), adviser)


def complaint(url: str) -> str | None:
    """Return why this database cannot be used, and what mends it; None if it can."""
    return store.check(url)


def is_id(text: str) -> bool:
    """Return whether the text may be the id of something stored."""
    return store.is_id(text)
