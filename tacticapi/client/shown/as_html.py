"""Advice ▶ a part of a page, for notebooks: plain elements, every text escaped, nothing fetched, no script."""

from collections.abc import Iterable
from html import escape
from typing import TYPE_CHECKING

from tacticapi.client.shown.words import heading, plan_words, reasons, rows

if TYPE_CHECKING:
    from tacticapi.client.answers.advice import Advice, Suggestion

ALERT = "border: 2px solid; padding: 0.4em 0.8em; max-width: 46em"
PAGE = "max-width: 46em; line-height: 1.4"


def advice_html(advice: "Advice") -> str:
    """The advice for a notebook."""
    plan = plan_words(advice)
    parts = [
        f"<h4>{escape(heading(advice))}</h4>",
        _safety(advice),
        f"<p>{escape(advice.score)}</p>" if advice.score else "",
        f"<ol>{''.join(map(_suggestion, advice.suggestions))}</ol>" if advice.suggestions else "",
        f"<p><strong>Plan</strong> {escape(plan)}</p>" if plan else "",
        _listed("Changed", (change.text for change in advice.changed)),
        _listed("Look for next", (look.how for look in advice.look_for)),
        _listed("Please note", advice.notice),
    ]
    return f'<section style="{PAGE}">{"".join(parts)}</section>'


def _safety(advice: "Advice") -> str:
    lines = [f"{line.say} {line.caution or ''}".strip() for line in advice.safety]
    return f'<div role="note" style="{ALERT}">{_listed("Safety first", lines)}</div>' if lines else ""


def _suggestion(suggestion: "Suggestion") -> str:
    because = "".join(f"<li>{escape(reason)}</li>" for reason in reasons(suggestion))
    more = "".join(f"<dt>{label}</dt><dd>{escape(text)}</dd>" for label, text in rows(suggestion))
    return (
        f'<li value="{int(suggestion.rank)}"><strong>{escape(suggestion.title)}</strong><br>{escape(suggestion.say)}'
        f"<ul>{because}</ul><dl>{more}</dl></li>"
    )


def _listed(title: str, lines: Iterable[str]) -> str:
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<p><strong>{title}</strong></p><ul>{items}</ul>" if items else ""
