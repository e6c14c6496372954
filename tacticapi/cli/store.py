"""tacticapi db, export, import, erase, retention: what whoever runs the service does with its database."""

import sqlite3
from pathlib import Path
from typing import TextIO

import click

from tacticapi.cli.desk import check_schema, database_address, in_its_club, open_desk, refusals_told
from tacticapi.cli.progress import progress_over
from tacticapi.service import retention
from tacticapi.service.erasure import erase_player
from tacticapi.service.export import export
from tacticapi.service.importing import import_club
from tacticapi.store import backup, upgrade


@click.group()
def db() -> None:
    """Look after the database: the one in DATABASE_URL, else the SQLite file in TACTICAPI_DB (tacticapi.db here).

    \b
    Examples:
      tacticapi db upgrade
      TACTICAPI_DB=/var/lib/tacticapi/club.db tacticapi db check
      tacticapi db backup sunday.db
    """


@db.command("upgrade")
def upgrade_schema() -> None:
    """Make the database, or bring it to this version. Does nothing where it is there. Back up first.

    Exit status 1 where the database was made by a newer version.

    \b
    Example:
      TACTICAPI_DB=/var/lib/tacticapi/club.db tacticapi db upgrade
    """
    url = database_address()
    with refusals_told():
        upgrade(url)
    check_schema(url)
    click.echo("The database is of this version.")


@db.command("check")
def check_version() -> None:
    """Say whether this version can use the database; exit status 1, and the command that mends it, where not.

    \b
    Example:
      tacticapi db check
    """
    check_schema(database_address())
    click.echo("The database is of this version.")


@db.command("backup")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
def back_up(file: Path) -> None:
    """Write a whole copy of the database to the new FILE while it is in use.

    Of SQLite it is a database file; of PostgreSQL an archive of pg_dump, which must be on the PATH (pg_restore reads
    it). Exit status 1 where FILE is there already or the copy fails; then no FILE is left behind.

    \b
    Example:
      tacticapi db backup sunday.db
    """
    with refusals_told():
        try:
            backup(database_address(), file)
        except (OSError, sqlite3.Error) as error:
            raise click.ClickException(f"no copy could be written to {file}: {error}") from None
    click.echo(f"wrote {file}")


@click.command("export")
@click.argument("club_id", metavar="CLUB")
@click.option("-o", "--output", type=click.File("w", encoding="utf-8", atomic=True), default="-", help="File to write.")
def export_club(club_id: str, output: TextIO) -> None:
    """Write everything of CLUB (an id) as JSON Lines, to standard output or to a file that is whole or not there.

    Health items and tokens are left out.

    \b
    Example:
      tacticapi export 0197… -o two-kilns.jsonl
    """
    with open_desk() as desk:
        for line in export(desk, club_id):
            output.write(line)


@click.command("import")
@click.argument("file", type=click.File("r", encoding="utf-8"))
def import_file(file: TextIO) -> None:
    """Read a club from the export in FILE (- reads standard input): all of it or, exit status 2, nothing.

    A club that is here already is not overwritten. Its tokens are no part of an export: make new ones.

    \b
    Example:
      DATABASE_URL=postgresql://court@db/tacticapi tacticapi import two-kilns.jsonl
    """
    with open_desk() as desk:
        lines = list(file)
        with progress_over(lines, len(lines), "Importing") as shown:
            made = import_club(desk, shown)
    click.echo(f"{made.club_id}  {made.label}")


@click.command("erase")
@click.argument("player_id", metavar="PLAYER")
@click.option("--yes", is_flag=True, help="Erase without asking.")
def erase(player_id: str, yes: bool) -> None:
    """Erase PLAYER (an id) for good, with everything that names them. Other players' counts stay without the name.

    There is no way back but a backup, and backups still hold the player.

    \b
    Example:
      tacticapi erase 0197… --yes
    """
    if not yes:
        click.confirm(f"Erase the player {player_id} for good?", abort=True)
    with open_desk() as desk:
        gone = in_its_club(desk, lambda club_id: erase_player(desk, club_id, player_id))
    click.echo(
        f"erased; {gone.matches_deleted} matches went, {gone.matches_kept} stay without the player, "
        f"{gone.texts} texts held the label"
    )


@click.group("retention")
def retention_group() -> None:
    """How long matches are kept.

    \b
    Example (once a night):
      tacticapi retention sweep
    """


@retention_group.command("sweep")
def sweep() -> None:
    """End matches that were forgotten, delete what was kept long enough, in every club.

    Exit status 1 if a club could not be swept; it stays as it was, and the others are swept.

    \b
    Example:
      tacticapi retention sweep
    """
    with open_desk() as desk:
        swept = retention.sweep(desk)
    click.echo(
        f"ended {swept.ended} forgotten matches; deleted {swept.matches} matches, {swept.players} players, "
        f"{swept.answers} answers to repeated requests, {swept.tokens} dead tokens"
    )
    if swept.failed:
        raise click.ClickException(f"{swept.failed} clubs could not be swept: the log says why, the others were")
