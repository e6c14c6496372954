"""Define tacticapi suggest, demo and openapi: give advice and print the contract, without a server."""

import json
import uuid
from pathlib import Path
from runpy import run_path
from typing import BinaryIO

import click

from tacticapi.advice import Adviser
from tacticapi.api.advice import advice_body
from tacticapi.api.situations import read_situation
from tacticapi.cli import example
from tacticapi.cli.text import loaded_rulebook, posted_situation, wrapped
from tacticapi.client import Advice as Shown
from tacticapi.domain.advice import Advice
from tacticapi.seeds import DEMO_STORY, demo_situation

details = click.option("--details", is_flag=True, help="Also print every reason, worth, source and held-back tactic.")


@click.command(epilog=example("tacticapi suggest --details mine.json", "tacticapi suggest --json - < mine.json"))
@click.argument("file", type=click.File("rb"))
@click.option("--json", "as_json", is_flag=True, help="Print the service's JSON response.")
@details
def suggest(file: BinaryIO, as_json: bool, details: bool) -> None:
    """Advise on the situation in FILE (JSON; -: standard input). Exit status 2 if it is invalid."""
    rulebook = loaded_rulebook()
    advice = shown(Adviser(rulebook).recommend(posted_situation(file.read(), rulebook), profile=True))
    if as_json:
        click.echo(json.dumps(advice, ensure_ascii=False, indent=2))
    else:
        click.echo(advice.details if details else advice)


@click.command(epilog=example("tacticapi demo"))
@details
def demo(details: bool) -> None:
    """Show the first suggestion at each of five moments in an invented match. Needs no server or network."""
    rulebook = loaded_rulebook()
    adviser = Adviser(rulebook)
    for moment, story in DEMO_STORY.items():
        asked = read_situation(demo_situation(moment), rulebook)
        advice = shown(adviser.recommend(asked, profile=True))
        click.echo(wrapped(f"{advice.moment.upper()}: {story}"))
        click.echo(f"\n{advice.details}\n" if details else advice.in_short(1))
    click.echo("" if details else wrapped(" ".join(advice["notice"])))


def shown(advice: Advice) -> Shown:
    """Return advice in the form in which the client shows the service's response."""
    return Shown(advice_body(advice, str(uuid.uuid4())))


@click.command(epilog=example("tacticapi openapi > openapi.yaml"))
@click.option("--write", is_flag=True, help="Write this checkout's openapi/openapi.yaml instead of printing.")
def openapi(write: bool) -> None:
    """Print the contract (OpenAPI 3.1) with a recorded example for each moment."""
    package = Path(__file__).resolve().parents[1]
    installed = package / "openapi.yaml"
    published = installed if installed.is_file() else package.parent / "openapi" / "openapi.yaml"
    if not write:
        click.echo(published.read_text(encoding="utf-8"), nl=False)
        return
    maker = published.with_name("document.py")
    if not maker.is_file():
        raise click.ClickException("there is no checkout to write to: print the contract instead")
    run_path(str(maker), run_name="__main__")
    click.echo(f"wrote {published}")
