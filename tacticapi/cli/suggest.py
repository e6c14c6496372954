"""tacticapi suggest, demo, openapi: advice on a situation, and the contract, without a server."""

import json
import uuid
from pathlib import Path
from runpy import run_path
from typing import BinaryIO

import click

from tacticapi.advice import Adviser
from tacticapi.api.situations import read_situation
from tacticapi.cli import example
from tacticapi.cli.text import advice_text, loaded_rulebook, moment_words, posted_situation, short_text, wrapped
from tacticapi.domain.advice import Advice
from tacticapi.seeds import DEMO_STORY, demo_situation

details = click.option("--details", is_flag=True, help="Print every reason, worth, source and what was held back too.")


@click.command(epilog=example("tacticapi suggest --details mine.json", "tacticapi suggest --json - < mine.json"))
@click.argument("file", type=click.File("rb"))
@click.option("--json", "as_json", is_flag=True, help="Print the JSON that the service would answer.")
@details
def suggest(file: BinaryIO, as_json: bool, details: bool) -> None:
    """Advise on the situation in FILE (JSON; - reads standard input). Exit status 2 if it is invalid."""
    rulebook = loaded_rulebook()
    advice = Adviser(rulebook).recommend(posted_situation(file.read(), rulebook), profile=True)
    if as_json:
        from tacticapi.api.suggestions import advice_body  # noqa: PLC0415  (half a second)

        click.echo(json.dumps(advice_body(advice, str(uuid.uuid4())), ensure_ascii=False, indent=2))
    else:
        click.echo(in_detail(advice) if details else advice_text(advice))


@click.command(epilog=example("tacticapi demo"))
@details
def demo(details: bool) -> None:
    """Tell an invented match in five moments, each with its first suggestion. Needs no server and no network."""
    rulebook = loaded_rulebook()
    adviser = Adviser(rulebook)
    for moment, story in DEMO_STORY.items():
        advice = adviser.recommend(read_situation(demo_situation(moment), rulebook), profile=details)
        click.echo(wrapped(f"{moment_words(advice.moment).upper()}: {story}"))
        click.echo(f"\n{in_detail(advice)}\n" if details else short_text(advice, most=1))
    click.echo("" if details else wrapped(" ".join(advice.notice)))


def in_detail(advice: Advice) -> str:
    """Return every reason, worth and source as text."""
    from tacticapi.api.suggestions import PARTS, advice_body  # noqa: PLC0415  (half a second)
    from tacticapi.client import Advice as Shown  # noqa: PLC0415

    return Shown(advice_body(advice, str(uuid.uuid4()), PARTS)).details


@click.command(epilog=example("tacticapi openapi > openapi.yaml"))
@click.option("--write", is_flag=True, help="Write openapi/openapi.yaml of this checkout instead of printing.")
def openapi(write: bool) -> None:
    """Print the contract (OpenAPI 3.1) with a recorded example of each moment."""
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
