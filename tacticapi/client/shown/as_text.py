"""Advice ▶ plain text of 80 columns: safety first, then suggestions with their reasons, then what to be told."""

import textwrap
from collections.abc import Iterable
from typing import TYPE_CHECKING

from tacticapi.client.shown.words import heading, plan_words, reasons, rows

if TYPE_CHECKING:
    from tacticapi.client.answers.advice import Advice, Suggestion

WIDTH, LABEL = 80, 12


def advice_text(advice: "Advice") -> str:
    """The advice for a terminal."""
    plan = plan_words(advice)
    blocks = [
        heading(advice),
        _listed("Safety first", (f"{line.say} {line.caution or ''}".strip() for line in advice.safety)),
        _filled(f"Score: {advice.score}") if advice.score else "",
        *(_suggestion(suggestion) for suggestion in advice.suggestions),
        _filled(f"Plan: {plan}") if plan else "",
        _listed("Changed", (change.text for change in advice.changed)),
        _listed("Look for next", (look.how for look in advice.look_for)),
        _listed("Please note", advice.notice),
    ]
    return "\n\n".join(block for block in blocks if block)


def _suggestion(suggestion: "Suggestion") -> str:
    said = [("Say", suggestion.say), ("Because", "; ".join(reasons(suggestion))), *rows(suggestion)]
    head = _filled(f"{suggestion.rank}. {suggestion.title}", hang=3)
    return "\n".join([head, *(_filled(f"   {label:<{LABEL}}{text}", hang=3 + LABEL) for label, text in said)])


def _listed(title: str, lines: Iterable[str]) -> str:
    items = [_filled(f"  - {line}", hang=4) for line in lines]
    return "\n".join([title, *items]) if items else ""


def _filled(text: str, hang: int = 0) -> str:
    return textwrap.fill(text, WIDTH, subsequent_indent=" " * hang, break_on_hyphens=False)
