"""Advice as data, for a terminal (plain text of 80 columns) and for a notebook (a part of a page).

If the event permits none now, all but safety and notice is None or empty. The part of a page has plain elements, every
text escaped, nothing fetched, no script.
"""

import textwrap
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from html import escape
from typing import Any

from tacticapi.client.calls import Answer

WIDTH, LABEL = 80, 12
ALERT = "border: 2px solid; padding: 0.4em 0.8em; max-width: 46em"
PAGE = "max-width: 46em; line-height: 1.4"


@dataclass(frozen=True, kw_only=True)
class RulebookRef(Answer):
    """Exactly which rules answered."""

    version: str
    digest: str


@dataclass(frozen=True, kw_only=True)
class SourceLine(Answer):
    """Who says so. A citation backs a fact, never a threshold of ours."""

    status: str
    key: str | None
    citation: str | None
    backs: str | None


@dataclass(frozen=True, kw_only=True)
class Safety(Answer):
    """A safety line; it stands before tactics, and instead of them where `alone`."""

    tactic: str
    say: str
    why: str
    caution: str | None
    alone: bool
    sources: tuple[SourceLine, ...]


@dataclass(frozen=True, kw_only=True)
class Reason(Answer):
    """One reason in counts, with what was posted, in the way in which it was said."""

    text: str
    observation: int | None
    ref: str | None
    what: str
    count: float | None
    of: float | None
    counts: Mapping[str, Any] | None
    rating: float | None
    value: str | None
    amount: float | None
    seen: bool | None
    trait: str | None
    wing: str | None
    log_odds: float | None


@dataclass(frozen=True, kw_only=True)
class RestsOn(Answer):
    """A trait that a suggestion rests on."""

    trait: str
    wing: str | None
    probability: float
    read: str


@dataclass(frozen=True, kw_only=True)
class Gain(Answer):
    """What it is worth. The figures rest on model defaults of this service."""

    point: float
    match: float | None
    match_low: float | None
    match_high: float | None


@dataclass(frozen=True, kw_only=True)
class Target(Answer):
    """A serve target, computed from the receiver's hand and the court."""

    court: str
    spot: str
    wing: str


@dataclass(frozen=True, kw_only=True)
class CourtNote(Answer):
    """A figure about court and ball, by the general rule or, where `posted`, from what was posted."""

    figure: str
    text: str
    posted: bool


@dataclass(frozen=True, kw_only=True)
class Suggestion(Answer):
    """One line of advice with everything that belongs to it."""

    rank: int
    tactic: str
    category: str
    title: str
    say: str
    why: str
    because: tuple[Reason, ...]
    rests_on: tuple[RestsOn, ...]
    gain: Gain
    not_if: str
    stop_when: str
    risk: str
    caution: str | None
    targets: tuple[Target, ...]
    source: SourceLine
    sources: tuple[SourceLine, ...]
    coaches_differ: str | None
    court: CourtNote | None
    picture: str | None


@dataclass(frozen=True, kw_only=True)
class Look(Answer):
    """What to look for next."""

    what: str
    asks: str
    how: str
    worth: float
    trait: str | None
    wing: str | None


@dataclass(frozen=True, kw_only=True)
class HeldBack(Answer):
    """A tactic that matched and was set aside."""

    tactic: str
    reason: str
    why: str


@dataclass(frozen=True, kw_only=True)
class Unused(Answer):
    """An accepted observation that moved nothing."""

    observation: int | None
    ref: str | None
    what: str
    why: str
    text: str | None


@dataclass(frozen=True, kw_only=True)
class Contribution(Answer):
    """What one kind of observation did to a belief."""

    text: str
    what: str
    observations: tuple[int, ...]
    phase: str
    chances: float
    log_odds: float


@dataclass(frozen=True, kw_only=True)
class Belief(Answer):
    """How likely a trait holds, and what moved it."""

    trait: str
    wing: str | None
    probability: float
    prior: float
    because: tuple[Contribution, ...]


@dataclass(frozen=True, kw_only=True)
class Changed(Answer):
    """What is not as it was at the advice before."""

    what: str
    text: str
    trait: str | None
    wing: str | None
    before: float | None
    after: float | None
    observations: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Advice(Answer):
    """Advice for a moment. Print it for a terminal; a notebook shows it as a page."""

    advice_id: str
    moment: str
    rulebook: RulebookRef
    safety: tuple[Safety, ...]
    plan: str | None
    plan_why: str | None
    score: str | None
    suggestions: tuple[Suggestion, ...]
    look_for: tuple[Look, ...]
    held_back: tuple[HeldBack, ...]
    unused: tuple[Unused, ...]
    beliefs: tuple[Belief, ...]
    notice: tuple[str, ...]
    changed: tuple[Changed, ...]

    def __str__(self) -> str:
        return advice_text(self)

    def _repr_html_(self) -> str:
        return advice_html(self)


@dataclass(frozen=True, kw_only=True)
class LiveAdvice(Advice):
    """Advice on a kept match."""

    match_id: str
    revision: int
    health_removed: bool


@dataclass(frozen=True, kw_only=True)
class GivenAdvice(LiveAdvice):
    """Advice as it was given, with all that it rested on."""

    given_at: datetime
    situation: Mapping[str, Any] | None
    fired: tuple[Mapping[str, Any], ...]


@dataclass(frozen=True, kw_only=True)
class AdviceLine(Answer):
    """That advice was given; what it said stands at its own address."""

    match_id: str
    revision: int
    health_removed: bool
    advice_id: str
    moment: str
    rulebook: RulebookRef
    given_at: datetime


@dataclass(frozen=True, kw_only=True)
class Fact(Answer):
    """One fact that the rules were matched against."""

    id: str
    kind: str
    name: str
    fields: Mapping[str, Any]
    observations: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Fired(Answer):
    """A rule that fired."""

    rule: str
    facts: tuple[str, ...]
    derives: str | None


@dataclass(frozen=True, kw_only=True)
class Why(Answer):
    """Why a tactic was suggested, or why not."""

    tactic: str
    verdict: str
    why: str
    unmet: tuple[str, ...]
    chain: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Explanation(Advice):
    """The advice and everything behind it."""

    engine: str
    facts: tuple[Fact, ...]
    fired: tuple[Fired, ...]
    why: tuple[Why, ...]


def heading(advice: Advice) -> str:
    """The moment and the rules."""
    moment = advice.moment.replace("-", " ").replace("warm up", "warm-up").capitalize()
    return f"{moment} · rules {advice.rulebook.version}"


def reasons(suggestion: Suggestion) -> list[str]:
    """Why now, in counts; why it works where nothing was seen that speaks for it."""
    return [reason.text for reason in suggestion.because] or [suggestion.why]


def rows(suggestion: Suggestion) -> list[tuple[str, str]]:
    """What else belongs to a suggestion, each with its label."""
    targets = ", ".join(f"{one.court} court {one.spot} (their {one.wing})" for one in suggestion.targets)
    sources = "; ".join(source_words(source) for source in suggestion.sources)
    labelled = (
        ("Targets", targets),
        ("On court", suggestion.court and suggestion.court.text),
        ("Worth", worth(suggestion.gain)),
        ("Not if", suggestion.not_if),
        ("Look again", suggestion.stop_when.removeprefix("Look again ")),
        ("Caution", suggestion.caution),
        ("Source", sources),
    )
    return [(label, text) for label, text in labelled if text]


def worth(gain: Gain) -> str:
    """The gain in points of a hundred and in the chance of the match, with the interval of 8 in 10."""
    said = f"{100 * gain.point:+.2f} points in 100"
    if gain.match is None or gain.match_low is None or gain.match_high is None:
        return said
    interval = f"8 in 10: {100 * gain.match_low:+.1f} to {100 * gain.match_high:+.1f}"
    return f"{said}; {100 * gain.match:+.1f} % of the match ({interval})"


def source_words(source: SourceLine) -> str:
    """Who says so, and how it is known."""
    return f"{source.citation} [{source.status}]" if source.citation else source.status


def plan_words(advice: Advice) -> str:
    """Whether to keep the plan, and why; empty where there is none."""
    return f"{advice.plan}: {advice.plan_why}" if advice.plan and advice.plan_why else advice.plan or ""


def advice_text(advice: Advice) -> str:
    """The advice for a terminal."""
    plan = plan_words(advice)
    blocks = [
        heading(advice),
        _text_listed("Safety first", (f"{line.say} {line.caution or ''}".strip() for line in advice.safety)),
        _filled(f"Score: {advice.score}") if advice.score else "",
        *(_text_suggestion(suggestion) for suggestion in advice.suggestions),
        _filled(f"Plan: {plan}") if plan else "",
        _text_listed("Changed", (change.text for change in advice.changed)),
        _text_listed("Look for next", (look.how for look in advice.look_for)),
        _text_listed("Please note", advice.notice),
    ]
    return "\n\n".join(block for block in blocks if block)


def _text_suggestion(suggestion: Suggestion) -> str:
    said = [("Say", suggestion.say), ("Because", "; ".join(reasons(suggestion))), *rows(suggestion)]
    head = _filled(f"{suggestion.rank}. {suggestion.title}", hang=3)
    return "\n".join([head, *(_filled(f"   {label:<{LABEL}}{text}", hang=3 + LABEL) for label, text in said)])


def _text_listed(title: str, lines: Iterable[str]) -> str:
    items = [_filled(f"  - {line}", hang=4) for line in lines]
    return "\n".join([title, *items]) if items else ""


def _filled(text: str, hang: int = 0) -> str:
    return textwrap.fill(text, WIDTH, subsequent_indent=" " * hang, break_on_hyphens=False)


def advice_html(advice: Advice) -> str:
    """The advice for a notebook."""
    plan = plan_words(advice)
    parts = [
        f"<h4>{escape(heading(advice))}</h4>",
        _html_safety(advice),
        f"<p>{escape(advice.score)}</p>" if advice.score else "",
        f"<ol>{''.join(map(_html_suggestion, advice.suggestions))}</ol>" if advice.suggestions else "",
        f"<p><strong>Plan</strong> {escape(plan)}</p>" if plan else "",
        _html_listed("Changed", (change.text for change in advice.changed)),
        _html_listed("Look for next", (look.how for look in advice.look_for)),
        _html_listed("Please note", advice.notice),
    ]
    return f'<section style="{PAGE}">{"".join(parts)}</section>'


def _html_safety(advice: Advice) -> str:
    lines = [f"{line.say} {line.caution or ''}".strip() for line in advice.safety]
    return f'<div role="note" style="{ALERT}">{_html_listed("Safety first", lines)}</div>' if lines else ""


def _html_suggestion(suggestion: Suggestion) -> str:
    because = "".join(f"<li>{escape(reason)}</li>" for reason in reasons(suggestion))
    more = "".join(f"<dt>{label}</dt><dd>{escape(text)}</dd>" for label, text in rows(suggestion))
    return (
        f'<li value="{int(suggestion.rank)}"><strong>{escape(suggestion.title)}</strong><br>{escape(suggestion.say)}'
        f"<ul>{because}</ul><dl>{more}</dl></li>"
    )


def _html_listed(title: str, lines: Iterable[str]) -> str:
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<p><strong>{title}</strong></p><ul>{items}</ul>" if items else ""
