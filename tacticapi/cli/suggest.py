"""tacticapi suggest, demo: advice without a server, and the walk through an invented match."""

import json
import uuid
from typing import BinaryIO

import click

from tacticapi.advice import Adviser
from tacticapi.api.situations.read import read_situation
from tacticapi.api.suggestions.presenter import advice_body
from tacticapi.cli.reading import loaded_rulebook, posted_situation
from tacticapi.cli.text import advice_text, beliefs_text, moment_words, seen_lines, wrapped
from tacticapi.seeds import demo_situation

DEMO_MOMENTS = ("after-warm-up", "change-of-ends")
DEMO_BELIEFS = 6


@click.command()
@click.argument("file", type=click.File("rb"))
@click.option("--json", "as_json", is_flag=True, help="Print the JSON that the service would answer.")
def suggest(file: BinaryIO, as_json: bool) -> None:
    """Advise on the situation in FILE (JSON; - reads standard input). Exit status 2 where it holds a fault.

    \b
    Examples:
      tacticapi suggest seeds_demo/change-of-ends.json
      tacticapi suggest --json - < seeds_demo/after-warm-up.json
    """
    rulebook = loaded_rulebook()
    advice = Adviser(rulebook).recommend(posted_situation(file.read(), rulebook))
    if as_json:
        click.echo(json.dumps(advice_body(advice, str(uuid.uuid4())), ensure_ascii=False, indent=2))
    else:
        click.echo(advice_text(advice))


@click.command()
def demo() -> None:
    """Walk through the warm-up and a change of ends of an invented match. Needs no server and no network.

    \b
    Example:
      tacticapi demo
    """
    rulebook = loaded_rulebook()
    adviser = Adviser(rulebook)
    told: set[str] = set()
    for moment in DEMO_MOMENTS:
        situation = read_situation(demo_situation(moment), rulebook)
        advice = adviser.recommend(situation)
        click.echo(
            f"{'=' * 80}\n{moment_words(situation.moment)}: what {'more ' if told else ''}was seen of your opponent\n"
        )
        for line in seen_lines(situation, rulebook):
            if line not in told:
                click.echo(wrapped(line, indent=2, hang=2))
            told.add(line)
        click.echo("\nWhat is believed, and why (what moved most; # is certainty)\n")
        click.echo(beliefs_text(advice.beliefs, rulebook.traits, DEMO_BELIEFS))
        click.echo(f"\n{'-' * 80}\n{advice_text(advice)}\n")
