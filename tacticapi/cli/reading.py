"""What commands read before they advise: the rules and a situation. What is wrong with either ends the command."""

import click

from tacticapi.api.situations.read import SituationError, situation_of_json
from tacticapi.api.strict_json import StrictJsonError
from tacticapi.cli.statuses import FAULTY
from tacticapi.cli.text import fault_lines
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.knowledge import RuleFileError, load, rule_paths


def loaded_rulebook() -> Rulebook:
    """Our rules and the house's. Ends the command with every mistake where they cannot be used."""
    try:
        return load(rule_paths())
    except RuleFileError as error:
        raise click.ClickException(f"the rules cannot be used:\n{error}") from None


def posted_situation(body: bytes, rulebook: Rulebook) -> Situation:
    """The situation that a JSON text means. Ends the command with a line a fault where it holds any."""
    try:
        return situation_of_json(body, rulebook)
    except (StrictJsonError, SituationError) as error:
        for line in fault_lines(error.faults):
            click.echo(line, err=True)
        raise SystemExit(FAULTY) from None
