"""Help the commands: print text for people, and read rules and situations."""

import json
import textwrap
from collections.abc import Iterable

import click

from tacticapi.cli import FAULTY
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.rulebook.files import Fault, RuleFileError, pointer_text, rule_paths

WIDTH = 80


def fault_lines(faults: Iterable[Fault]) -> list[str]:
    """Return a line for each fault: its JSON pointer, what was expected, and the posted value."""
    from tacticapi.api.http.problems import shortened  # noqa: PLC0415  (the API takes a second)

    lines = []
    for fault in faults:
        found = "" if fault.value is None else f", found {json.dumps(shortened(fault.value), ensure_ascii=False)}"
        lines.append(f"{pointer_text(fault.path) or 'the body'}: expected {fault.expected}{found}")
    return lines


def wrapped(text: str, *, indent: int = 0, hang: int = 0) -> str:
    """Wrap text to 80 columns; lines after the first are indented by `hang`."""
    first, more = " " * indent, " " * (indent + hang)
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=more, break_on_hyphens=False)


def loaded_rulebook() -> Rulebook:
    """Return the built-in and house rules. If they are invalid, print all mistakes and end the command."""
    from tacticapi.rulebook.load import load  # noqa: PLC0415  (a quarter of the time of `tacticapi token`)

    try:
        return load(rule_paths())
    except RuleFileError as error:
        raise click.ClickException(f"the rules cannot be used:\n{error}") from None


def posted_situation(body: bytes, rulebook: Rulebook) -> Situation:
    """Parse a situation from JSON. If it is invalid, print a line for each fault and end the command."""
    from tacticapi.api.situations import SituationError, situation_of_json  # noqa: PLC0415  (as above)
    from tacticapi.posted import StrictJsonError  # noqa: PLC0415

    try:
        return situation_of_json(body, rulebook)
    except (StrictJsonError, SituationError) as error:
        for line in fault_lines(error.faults):
            click.echo(line, err=True)
        raise SystemExit(FAULTY) from None
