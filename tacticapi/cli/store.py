"""Define the commands on stored data: tacticapi db, export, import, erase, retention, replay, club, token."""

import os
import sqlite3
from collections import Counter
from collections.abc import Iterable
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

import click

from tacticapi.cli import DIFFERS as SOME_DIFFER
from tacticapi.cli import example
from tacticapi.cli.database import check_schema, database_address, in_its_club, open_services, refusals_told
from tacticapi.cli.text import wrapped
from tacticapi.club import clubs
from tacticapi.store import Token, backup, new_id, upgrade

if TYPE_CHECKING:  # importing it takes as long as most of these commands
    from tacticapi.club.advising import Outcome


@click.group(epilog=example("TACTICAPI_DB=/var/lib/tacticapi/club.db tacticapi db check"))
def db() -> None:
    """Upgrade, check or back up the database: DATABASE_URL, else the SQLite file TACTICAPI_DB (tacticapi.db here)."""


@db.command("upgrade", epilog=example("TACTICAPI_DB=/var/lib/tacticapi/club.db tacticapi db upgrade"))
def upgrade_schema() -> None:
    """Create the database, or upgrade it to this version. Back up first. Exit status 1 if its version is newer."""
    url = database_address()
    with refusals_told():
        created = upgrade(url)
    check_schema(url)
    click.echo(f"{'The schema was created. ' if created else ''}The database matches this version.")


@db.command("check", epilog=example("tacticapi db check"))
def check_version() -> None:
    """Check that this version can use the database. If not, print the command that fixes it; exit status 1."""
    check_schema(database_address())
    click.echo("The database matches this version.")


@db.command("backup", epilog=example("tacticapi db backup sunday.db"))
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
def back_up(file: Path) -> None:
    """Write a complete copy of the SQLite database to a new FILE, even while it is in use. For PostgreSQL, use pg_dump.

    Exit status 1 if FILE already exists or the copy fails; a failed copy leaves no FILE behind.
    """
    with refusals_told():
        try:
            backup(database_address(), file)
        except (OSError, sqlite3.Error) as error:
            raise click.ClickException(f"the copy could not be written to {file}: {error}") from None
    click.echo(f"wrote {file}")


@click.command("export", epilog=example("tacticapi export 0197… -o two-kilns.jsonl"))
@click.argument("club_id", metavar="CLUB")
@click.option("-o", "--output", type=click.File("w", encoding="utf-8", atomic=True), default="-", help="File to write.")
def export_club(club_id: str, output: TextIO) -> None:
    """Write everything stored for CLUB (an id) as JSON Lines to standard output or a file. A failed export leaves none.

    Health items and tokens are left out.
    """
    os.umask(0o077)  # the export names people
    from tacticapi.club.export import export  # noqa: PLC0415  (half a second)

    with open_services(advised=True) as services:
        for line in export(services, club_id):
            output.write(line)


@click.command("import", epilog=example("DATABASE_URL=postgresql://court@db/club tacticapi import two-kilns.jsonl"))
@click.argument("file", type=click.File("r", encoding="utf-8"))
def import_file(file: TextIO) -> None:
    """Import a club from the export in FILE (-: standard input), all or nothing. Exit status 2 if it is invalid.

    An existing club is not overwritten. An export contains no tokens: create new ones.
    """
    from tacticapi.club.importing import import_club  # noqa: PLC0415  (half a second)

    with open_services(advised=True) as services:
        made = import_club(services, file)
    click.echo(f"{made.club_id}  {made.label}")


@click.command("erase", epilog=example("tacticapi erase 0197… --yes"))
@click.argument("player_id", metavar="PLAYER")
@click.option("--yes", is_flag=True, help="Erase without asking.")
def erase(player_id: str, yes: bool) -> None:
    """Erase PLAYER (an id) for good, with all text that names them. Other players' counts stay, without the name.

    Only a backup can undo this, and backups still contain the player.
    """
    from tacticapi.club import matches, players, retention  # noqa: PLC0415  (half a second)

    with open_services(advised=True) as services:
        if not yes:
            player = in_its_club(services, lambda club_id: players.get(services, club_id, player_id))
            wanted: dict[str, Any] = {"limit": 100_000, f"{player.side}_id": player_id}
            of = len(matches.find(services, player.club_id, **wanted))
            click.confirm(f'Erase "{player.label}" ({player.side}; matches: {of}) for good?', abort=True)
        gone = in_its_club(services, lambda club_id: retention.erase_player(services, club_id, player_id))
    told = f"{gone.matches_deleted} matches deleted, {gone.matches_kept} kept without the player"
    click.echo(f"erased; {told}, {gone.texts} rows contained the label in their text")


@click.group("retention", epilog=example("tacticapi retention sweep"))
def retention_group() -> None:
    """Delete data past its retention period."""


@retention_group.command("sweep", epilog=example("tacticapi retention sweep"))
def sweep() -> None:
    """End forgotten matches and delete data past its retention period, in every club.

    Exit status 1 if a club could not be swept; that club stays unchanged, and the others are still swept.
    """
    from tacticapi.club import retention  # noqa: PLC0415  (half a second)

    with open_services(advised=True) as services:
        swept = retention.sweep(services)
    click.echo(
        f"ended {swept.ended} forgotten matches; deleted {swept.matches} matches, {swept.players} players, "
        f"{swept.answers} stored results of requests, {swept.tokens} dead tokens"
    )
    if swept.failed:
        raise click.ClickException(f"{swept.failed} clubs could not be swept (see the log); the others were")


@click.command(epilog=example("TACTICAPI_RULES=house/ tacticapi replay 0197…"))
@click.argument("club_id", metavar="CLUB")
def replay(club_id: str) -> None:
    """Recompute all the advice stored for CLUB (an id) under today's rules, and print what would differ and why.

    Stored data does not change. Exit status 0 if nothing differs, 3 if some advice would differ.
    """
    from tacticapi.club import advising as stored  # noqa: PLC0415  (half a second)

    with open_services(advised=True) as services:
        found = list(stored.replay(services, club_id))
        digest = services.rulebook.digest
    click.echo(report(found, digest))
    if any(outcome.sort == stored.DIFFERS for outcome in found):
        raise SystemExit(SOME_DIFFER)


def report(outcomes: "Iterable[Outcome]", digest: str) -> str:
    """Return the report: each piece of advice that would differ, why others were left out, and totals."""
    from tacticapi.club.advising import DIFFERS, LEFT_OUT, SAME  # noqa: PLC0415  (half a second)

    found, blocks = list(outcomes), []
    for one in (outcome for outcome in found if outcome.sort == DIFFERS):
        lines = (wrapped(f"- {line}", indent=2, hang=2) for line in one.told)
        blocks.append("\n".join([f"{one.moment}, match {one.match_id}, advice {one.id}", *lines]))
    reasons = Counter(reason for outcome in found if outcome.sort == LEFT_OUT for reason in outcome.told)
    blocks += [wrapped(f"Left out {count}: {reason}") for reason, count in sorted(reasons.items())]
    sorts = Counter(outcome.sort for outcome in found)
    counts = f"{sorts[SAME]} the same, {sorts[DIFFERS]} would differ, {sorts[LEFT_OUT]} left out"
    return "\n\n".join([*blocks, f"{len(found)} pieces of advice under {digest}:\n{counts}"])


@click.group(epilog=example("tacticapi club list"))
def club() -> None:
    """List or create clubs. Each club sees only its own players and matches."""


@club.command("create", epilog=example('tacticapi club create "Two Kilns"'))
@click.argument("label")
def create_club(label: str) -> None:
    """Add a club under LABEL and print its id."""
    with open_services() as services:
        click.echo(clubs.create(services, label).club_id)


@club.command("list", epilog=example("tacticapi club list"))
def list_clubs() -> None:
    """Print each club's id, label, the days for which matches are kept, and the days if a player is under 18."""
    with open_services() as services:
        for one in clubs.every(services):
            click.echo("  ".join((one.club_id, one.label, _days(one.keep_days), _days(one.keep_days_under_18))))


def _days(days: int | None) -> str:
    return "for good" if days is None else f"{days} days"


@click.group(epilog=example("tacticapi token list 0197…"))
def token() -> None:
    """Create, list or revoke tokens. Each gives access to one club, within its scopes.

    Scopes: observe (post observations, points, tries, feedback), advise (get advice on a stored match), read (read
    stored data), manage (players, matches, retention, export, erasing).
    """


@token.command("create", epilog=example("tacticapi token create 0197… --scope observe --scope advise"))
@click.argument("club_id", metavar="CLUB")
@click.option("--scope", "scopes", multiple=True, required=True, type=click.Choice(clubs.SCOPES), help="Repeatable.")
@click.option("--label", default="made at the command line", show_default=True, help="The token's owner or purpose.")
@click.option("--expires-days", type=click.IntRange(1, 3650), help="Days until it expires. Default: never.")
def create_token(club_id: str, scopes: tuple[str, ...], label: str, expires_days: int | None) -> None:
    """Create a token for CLUB (an id) and print it once: only its hash is stored."""
    with open_services() as services:
        expires = services.now() + timedelta(days=expires_days) if expires_days else None
        issued = clubs.create_token(services, club_id, label, scopes, expires_at=expires)
    click.echo(f"{_line(issued.token)}\nKeep it now; it cannot be shown again:", err=True)
    click.echo(issued.text)


@token.command("list", epilog=example("tacticapi token list 0197…"))
@click.argument("club_id", metavar="CLUB")
def list_tokens(club_id: str) -> None:
    """Print each token of CLUB (an id): id, label, scopes, state, and the day of its last use."""
    with open_services() as services:
        for one in clubs.tokens_of(services, club_id):
            click.echo(_line(one))


@token.command("revoke", epilog=example("tacticapi token revoke 0197…"))
@click.argument("token_id", metavar="ID")
def revoke_token(token_id: str) -> None:
    """Revoke the token with this ID (not its secret) for good."""
    with open_services() as services:
        click.echo(_line(in_its_club(services, lambda club_id: clubs.revoke_token(services, club_id, token_id))))


@token.command("draft", epilog=example("tacticapi token draft > first-token"))
def draft_token() -> None:
    """Print a new, unused token for TACTICAPI_FIRST_TOKEN. A database's first token creates a club."""
    click.echo(clubs.Secret.new(new_id(), new_id()).text)


def _line(one: Token) -> str:
    if one.revoked_at:
        state = f"revoked {one.revoked_at:%Y-%m-%d}"
    else:
        state = f"until {one.expires_at:%Y-%m-%d}" if one.expires_at else "does not expire"
    used = f"last used {one.last_used}" if one.last_used else "never used"
    return "  ".join((one.id, one.label, ",".join(one.scopes), state, used))
