"""What commands print for a person, how far they have come, and the rules and situations that they read.

Advice is plain text of 80 columns: safety first, every reason in counts.
"""

import json
import sys
import textwrap
from collections.abc import Iterable
from contextlib import AbstractContextManager
from typing import TypeVar

import click

from tacticapi.advice.short import short
from tacticapi.api.http.bodies import StrictJsonError
from tacticapi.api.http.problems import shortened
from tacticapi.api.situations import SituationError, situation_of_json
from tacticapi.cli.commands import FAULTY
from tacticapi.domain.advice import Advice
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Moment, Situation, Verdict
from tacticapi.rulebook.files import Fault, RuleFileError, pointer_text, rule_paths
from tacticapi.rulebook.load import load

WIDTH = 80
Item = TypeVar("Item")


def short_text(advice: Advice, most: int | None = None) -> str:
    """Safety whole, then in short at most so many suggestions, in a line each part; the plan, the score, the looks."""
    told = short(advice)
    lines = [_block("SAFETY FIRST", (f"{line.say} {line.caution or ''}".strip() for line in advice.safety))]
    for number, line in enumerate(told.lines[:most], start=1):
        because = "; ".join(line.because)
        because = f"Because {because}." if because and not because.endswith(".") else because  # else a whole sentence
        caution = f"Caution: {line.of.caution}" if line.of.caution else ""
        lines.append(wrapped(f"{number}. {line.of.say}", hang=3))
        lines += [wrapped(text, indent=3) for text in (because, line.stop_when, caution) if text]
    verdict = advice.plan.verdict if advice.plan else Verdict.KEEP
    plan = f"Plan: {verdict}. {_sentence(told.plan)}" if told.plan or verdict is not Verdict.KEEP else ""
    score = f"Score: {told.score}." if told.score else ""
    looks = (f"Look: {look}." for look in told.looks)
    return "\n".join(filter(None, [*lines, *(wrapped(text, hang=3) for text in (plan, score, *looks))]))


def advice_text(advice: Advice) -> str:
    """The advice in short, under its moment, ending without a newline."""
    head = f"{moment_words(advice.moment)} · rules {advice.version}"
    return "\n\n".join(filter(None, [head, short_text(advice), _block("Please note", advice.notice)]))


def fault_lines(faults: Iterable[Fault]) -> list[str]:
    """One line a fault: its JSON pointer, what was expected, and what stood there."""
    lines = []
    for fault in faults:
        found = "" if fault.value is None else f", found {json.dumps(shortened(fault.value), ensure_ascii=False)}"
        lines.append(f"{pointer_text(fault.path) or 'the body'}: expected {fault.expected}{found}")
    return lines


def moment_words(moment: Moment) -> str:
    """A moment as a heading."""
    return moment.value.replace("-", " ").replace("warm up", "warm-up").capitalize()


def wrapped(text: str, *, indent: int = 0, hang: int = 0) -> str:
    """Text in lines of at most 80 columns; further lines hang in by so many more."""
    first, more = " " * indent, " " * (indent + hang)
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=more, break_on_hyphens=False)


def _block(title: str, lines: Iterable[str]) -> str:
    items = [wrapped(f"- {line}", indent=2, hang=2) for line in lines]
    return "\n".join([title, *items]) if items else ""


def _sentence(text: str) -> str:
    return text and text[:1].upper() + text[1:] + "."


def progress_over(items: Iterable[Item], length: int, label: str) -> AbstractContextManager[Iterable[Item]]:
    """The items, shown as they are taken; `length` is how many there are."""
    return click.progressbar(items, length=length, label=label, file=sys.stderr, hidden=not sys.stderr.isatty())


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
