"""Define the commands of tacticapi rules: check, explain, new."""

import re
from collections.abc import Sequence
from pathlib import Path
from string import Template
from typing import BinaryIO

import click

from tacticapi.advice import Adviser
from tacticapi.advice.explain import price_lines
from tacticapi.cli import example
from tacticapi.cli.text import loaded_rulebook, posted_situation, wrapped
from tacticapi.domain.rules import Rulebook
from tacticapi.evidence.beliefs import largest_moves
from tacticapi.evidence.profile import ProfileModel
from tacticapi.pricing.price import PriceBook, price_findings
from tacticapi.rulebook.entries import house_places
from tacticapi.rulebook.files import RuleFileError, our_rules, rule_paths
from tacticapi.rulebook.load import load
from tacticapi.rulebook.match_rules import lint, match_rules

_WORD = re.compile(r"[a-z0-9_-]+")
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


@click.group(epilog=example("tacticapi rules check house/"))
def rules() -> None:
    """Check, explain or extend the rules."""


@rules.command(epilog=example("tacticapi rules check house/"))
@click.argument("folder", required=False, type=click.Path(exists=True, file_okay=False, path_type=Path))
def check(folder: Path | None) -> None:
    """Check the built-in rules together with the house rules in FOLDER (default: those of TACTICAPI_RULES).

    This checks the files, the names in them, the engine's limits, and how far one more chance moves a belief. Exit
    status 1 if something is wrong.
    """
    try:
        folders = [our_rules(), folder] if folder else rule_paths()
        rulebook = load(folders)
    except RuleFileError as error:
        raise click.ClickException(f"{number_of(len(error.mistakes), 'mistake')}\n{error}") from None
    found = findings(rulebook, folders)
    for finding in found:
        click.echo(finding, err=True)
    if found:
        raise click.ClickException(number_of(len(found), "finding"))
    click.echo(f"{len(rulebook.tactics)} tactics, {len(rulebook.traits)} traits, {len(rulebook.kinds)} kinds: correct")
    click.echo(rulebook.digest)


def number_of(count: int, thing: str) -> str:
    """Return the number with its noun, in the plural if needed."""
    return f"{count} {thing}{'' if count == 1 else 's'}"


def findings(rulebook: Rulebook, folders: Sequence[Path] = ()) -> list[str]:
    """Return rules that exceed the engine's limits and evidence that moves a belief too far, with file and line."""
    prices, limit = PriceBook(rulebook, ProfileModel(rulebook)), float(rulebook.defaults["evidence"]["one_chance_move"])
    told = (*lint(match_rules(rulebook)), *price_findings(prices))
    found = [f"{where}: {what}, expected {expected}" for where, what, expected in told]
    found += [
        f"{move.trait} by {move.kind}: one chance moves it by {move.change:.3f}, expected at most {limit}"
        for move in largest_moves(rulebook)
        if move.change > limit
    ]
    places = house_places(folders) if found and folders else {}
    return [f"{next((f'{places[w]}: ' for w in _WORD.findall(one) if w in places), '')}{one}" for one in found]


@rules.command(epilog=example("tacticapi rules explain keep-net-rusher-back seeds_demo/change-of-ends.json"))
@click.argument("tactic")
@click.argument("file", type=click.File("rb"), required=False)
def explain(tactic: str, file: BinaryIO | None) -> None:
    """Explain why TACTIC is suggested or not, and what it is worth, in the situation in FILE.

    If FILE is -, read standard input. Without FILE, print the price as the rule states it.
    """
    rulebook = loaded_rulebook()
    if tactic not in rulebook.tactics:
        raise click.BadParameter(f"no tactic has the id {tactic}", param_hint="TACTIC")
    if file is None:
        click.echo(f"{rulebook.tactics[tactic].title}:")
        for line in price_lines(rulebook.tactics[tactic], rulebook) or ("it sends no ball, so it has no price",):
            click.echo(wrapped(f"- {line}", indent=2, hang=2))
        return
    trace = Adviser(rulebook).trace(posted_situation(file.read(), rulebook), tactic)
    if not trace.questions:
        click.echo(wrapped("Only safety advice is shown now, so only that is explained."))
    for answer in trace.questions:
        click.echo(f"{rulebook.tactics[answer.tactic].title}: {answer.verdict}")
        for line in answer.unmet or (answer.why,):
            click.echo(wrapped(f"- {line}", indent=2, hang=2))
        for line in answer.chain:
            click.echo(wrapped(line, indent=4, hang=2))
        for line in answer.price:
            click.echo(wrapped(line, indent=2, hang=2))


@rules.command(epilog=example("tacticapi rules new club-body-serve"))
@click.argument("tactic")
def new(tactic: str) -> None:
    """Print a template for a tactic with the id TACTIC, and for its test case."""
    if not _ID.fullmatch(tactic):
        raise click.BadParameter("lower-case letters, digits and hyphens", param_hint="TACTIC")
    if tactic in loaded_rulebook().tactics:
        raise click.BadParameter("this id is taken, and ids are never reused", param_hint="TACTIC")
    title = tactic.replace("-", " ").capitalize()
    template = Path(__file__).with_name("new-tactic.yaml").read_text(encoding="utf-8")
    click.echo(Template(template).substitute(id=tactic, title=title), nl=False)
