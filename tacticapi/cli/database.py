"""Open the database for commands on stored matches, and end them if a use case refuses something."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

import click

from tacticapi.cli import FAULTY
from tacticapi.cli.text import fault_lines, loaded_rulebook
from tacticapi.club import NotFound, Refused, ServiceError, Services, clubs
from tacticapi.store import BackupRefused, SchemaMismatch, check, database_url
from tacticapi.store.engine import AWAY, opened
from tacticapi.store.upkeep import MEND

Found = TypeVar("Found")


@contextmanager
def refusals_told() -> Iterator[None]:
    """If a use case refuses, end the command with the reason instead of a traceback."""
    try:
        yield
    except Refused as refused:
        for line in fault_lines(refused.faults):
            click.echo(line, err=True)
        raise SystemExit(FAULTY) from None
    except (ServiceError, BackupRefused, SchemaMismatch) as error:
        raise click.ClickException(str(error)) from None
    except AWAY as error:
        first_line, *_ = str(error).splitlines()  # library hints follow it
        raise click.ClickException(f"the database cannot be used now: {first_line}") from None


def database_address() -> str:
    """Return the database address from the environment. End the command if it is invalid."""
    try:
        return database_url()
    except ValueError as error:
        raise click.ClickException(str(error)) from None


def sqlite_file(url: str) -> Path | None:
    """Return the file in a SQLite address; None for any other engine."""
    scheme, _, path = url.partition(":///")
    return Path(path) if scheme == "sqlite" else None


def check_schema(url: str) -> None:
    """End the command if the database is missing or belongs to another version; name the command that fixes it."""
    file = sqlite_file(url)
    if file is not None and not file.is_file():  # on connecting, SQLite would create an empty one
        raise click.ClickException(f"there is no database {file}: run `{MEND}`")
    with refusals_told():
        complaint = check(url)
    if complaint:
        raise click.ClickException(complaint)


@contextmanager
def open_services(*, advised: bool = False) -> Iterator[Services]:
    """Open the services on the configured database, with the rules if `advised`; print any refusal."""
    url = database_address()
    check_schema(url)
    with opened(url) as engine, refusals_told():
        adviser: Any = None
        if advised:
            from tacticapi.advice import Adviser  # noqa: PLC0415  (half a second, which most commands can save)

            adviser = Adviser(loaded_rulebook())
        yield Services(engine, adviser)


def in_its_club(services: Services, do: Callable[[str], Found]) -> Found:
    """Run `do` for the club that owns the record, because operators give only the record's id. Raises NotFound."""
    missing: NotFound | None = None
    for club in clubs.every(services):
        try:
            return do(club.club_id)
        except NotFound as error:
            missing = error
    raise missing or click.ClickException("this database has no club")
