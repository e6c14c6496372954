"""Commands for clubs and their tokens."""

from datetime import timedelta

import click

from tacticapi.cli import example
from tacticapi.cli.database import in_its_club, open_services
from tacticapi.club import clubs
from tacticapi.store import Token

FOREVER = "for good"


@click.group(epilog=example("tacticapi club list"))
def club() -> None:
    """The clubs that are kept here: each sees its own players and matches, and nothing of another's."""


@club.command("create", epilog=example('tacticapi club create "Two Kilns"'))
@click.argument("label")
def create_club(label: str) -> None:
    """Add a club under LABEL and print its id."""
    with open_services() as services:
        click.echo(clubs.create(services, label).club_id)


@club.command("list", epilog=example("tacticapi club list"))
def list_clubs() -> None:
    """Print every club: id, label, days that matches are kept, days with anyone under 18."""
    with open_services() as services:
        for one in clubs.every(services):
            click.echo("  ".join((one.club_id, one.label, _days(one.keep_days), _days(one.keep_days_under_18))))


def _days(days: int | None) -> str:
    return FOREVER if days is None else f"{days} days"


@click.group(epilog=example("tacticapi token list 0197…"))
def token() -> None:
    """Tokens open one club each, for what their scopes allow.

    Scopes: observe (post what was seen, points, tries, feedback), advise (ask for advice on a kept match), read (read
    what is kept), manage (players, matches, retention, export, erasing).
    """


@token.command("create", epilog=example("tacticapi token create 0197… --scope observe --scope advise"))
@click.argument("club_id", metavar="CLUB")
@click.option("--scope", "scopes", multiple=True, required=True, type=click.Choice(clubs.SCOPES), help="Repeatable.")
@click.option("--label", default="made at the command line", show_default=True, help="Its owner or purpose.")
@click.option("--expires-days", type=click.IntRange(1, 3650), help="Days until it expires. Default: never.")
def create_token(club_id: str, scopes: tuple[str, ...], label: str, expires_days: int | None) -> None:
    """Make a token for CLUB (an id) and print it, once: only a hash of it is stored."""
    with open_services() as services:
        expires = services.now() + timedelta(days=expires_days) if expires_days else None
        issued = clubs.create_token(services, club_id, label, scopes, expires_at=expires)
    click.echo(f"{_line(issued.token)}\nKeep it now; it cannot be shown again:", err=True)
    click.echo(issued.text)


@token.command("list", epilog=example("tacticapi token list 0197…"))
@click.argument("club_id", metavar="CLUB")
def list_tokens(club_id: str) -> None:
    """Print the tokens of CLUB (an id): id, label, scopes, state, and the day of its last use."""
    with open_services() as services:
        for one in clubs.tokens_of(services, club_id):
            click.echo(_line(one))


@token.command("revoke", epilog=example("tacticapi token revoke 0197…"))
@click.argument("token_id", metavar="ID")
def revoke_token(token_id: str) -> None:
    """Close the token with this ID (not its secret) for good."""
    with open_services() as services:
        click.echo(_line(in_its_club(services, lambda club_id: clubs.revoke_token(services, club_id, token_id))))


@token.command("draft", epilog=example("tacticapi token draft > first-token"))
def draft_token() -> None:
    """Print a token that nothing knows yet, for TACTICAPI_FIRST_TOKEN: the first token of a database makes a club."""
    click.echo(clubs.draft_first_token())


def _line(one: Token) -> str:
    if one.revoked_at:
        state = f"revoked {one.revoked_at:%Y-%m-%d}"
    else:
        state = f"until {one.expires_at:%Y-%m-%d}" if one.expires_at else "does not expire"
    used = f"last used {one.last_used}" if one.last_used else "never used"
    return "  ".join((one.id, one.label, ",".join(one.scopes), state, used))
