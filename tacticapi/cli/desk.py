"""What commands on kept matches share: the database that they work on, and how a refusal ends them."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

import click

from tacticapi.advice import Adviser
from tacticapi.cli.statuses import FAULTY
from tacticapi.cli.text import fault_lines
from tacticapi.domain.rulebook import Rulebook
from tacticapi.knowledge import RuleFileError, load, rule_paths
from tacticapi.service import Desk, NotFound, Refused, ServiceError, clubs
from tacticapi.store import BackupRefused, check, database_url, open_engine
from tacticapi.store.failures import AWAY

UPGRADE = "tacticapi db upgrade"

Found = TypeVar("Found")


@contextmanager
def refusals_told() -> Iterator[None]:
    """End the command with the sentence of a refusal in place of a traceback."""
    try:
        yield
    except Refused as refused:
        for line in fault_lines(refused.faults):
            click.echo(line, err=True)
        raise SystemExit(FAULTY) from None
    except (ServiceError, BackupRefused, RuleFileError) as error:
        raise click.ClickException(str(error)) from None
    except AWAY as error:
        raise click.ClickException(f"the database cannot be used now: {first_line(error)}") from None


def first_line(error: Exception) -> str:
    """What went wrong, without the advice of libraries that follows it."""
    return str(error).partition("\n")[0]


def database_address() -> str:
    """The address of the database by the environment. Ends the command where it is none that we know."""
    try:
        return database_url()
    except ValueError as error:
        raise click.ClickException(str(error)) from None


def sqlite_file(url: str) -> Path | None:
    """The file of a SQLite address; None for another engine."""
    scheme, _, path = url.partition(":///")
    return Path(path) if scheme == "sqlite" else None


def check_schema(url: str) -> None:
    """End the command where the database is not there or not of this version, naming the command that mends it."""
    file = sqlite_file(url)
    if file is not None and not file.is_file():  # asked for, SQLite would make an empty one
        raise click.ClickException(f"there is no database {file}: run `{UPGRADE}`")
    with refusals_told():
        complaint = check(url)
    if complaint:
        raise click.ClickException(complaint)


@contextmanager
def open_desk(rulebook: Rulebook | None = None) -> Iterator[Desk]:
    """The desk over the database of the environment, refusals told; `rulebook` saves reading the rules again."""
    url = database_address()
    check_schema(url)
    engine = open_engine(url)
    try:
        with refusals_told():
            yield Desk(engine, Adviser(rulebook or load(rule_paths())))
    finally:
        engine.dispose()


def in_its_club(desk: Desk, do: Callable[[str], Found]) -> Found:
    """Do what is given for the club to which it is not foreign: an operator names a thing by its id alone.

    Raises NotFound where it is foreign to every club.
    """
    missing: NotFound | None = None
    for club in clubs.every(desk):
        try:
            return do(club.club_id)
        except NotFound as error:
            missing = error
    raise missing or click.ClickException("no club is in this database")
