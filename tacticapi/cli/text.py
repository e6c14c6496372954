"""What commands print for a person, how far they have come, and the rules and situations that they read.

Advice is plain text of 80 columns: safety first, every reason in counts.
"""

import json
import sys
import textwrap
from collections.abc import Iterable, Mapping
from contextlib import AbstractContextManager
from typing import TypeVar

import click

from tacticapi.advice.price_words import worth_words
from tacticapi.advice.short import short
from tacticapi.advice.words import said
from tacticapi.api.http.bodies import StrictJsonError
from tacticapi.api.http.problems import shortened
from tacticapi.api.situations import SituationError, situation_of_json
from tacticapi.cli.commands import FAULTY
from tacticapi.domain.advice import Advice, SourceLine, Suggestion, UnusedObservation
from tacticapi.domain.reasoning import Belief, Estimate
from tacticapi.domain.rules import Rulebook, Trait, WingRule
from tacticapi.domain.situation import Moment, Observation, Situation, Verdict
from tacticapi.rulebook.files import Fault, RuleFileError, pointer_text, rule_paths
from tacticapi.rulebook.load import load

WIDTH = 80
LABEL = 12
BAR = 16
MAX_UNUSED = 10
MAX_PROFILE = 6
Item = TypeVar("Item")


def short_text(advice: Advice, most: int | None = None) -> str:
    """Safety whole, then in short at most so many suggestions, in a line each part; the plan, the score, the looks."""
    told = short(advice)
    lines = [safety_text(advice)]
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


def safety_text(advice: Advice, *, sources: bool = False) -> str:
    """Every safety line, whole, and who says so if that is asked for; empty where there is none."""
    said = [f"{line.say} {line.caution or ''}".strip() for line in advice.safety]
    if sources:
        cited = ("; ".join(map(source_words, line.sources)) for line in advice.safety)
        said = [f"{text} ({names})" for text, names in zip(said, cited, strict=True)]
    return _block("SAFETY FIRST", said)


def advice_text(advice: Advice, *, details: bool = False) -> str:
    """The advice under its moment, in short or with all its details, ending without a newline."""
    blocks = [
        f"{moment_words(advice.moment)} · rules {advice.version}",
        *(_details(advice) if details else [short_text(advice)]),
        _block("Please note", advice.notice),
    ]
    return "\n\n".join(block for block in blocks if block)


def _details(advice: Advice) -> list[str]:
    return [
        safety_text(advice, sources=True),
        wrapped(f"Score: {advice.score}") if advice.score else "",
        *(suggestion_text(suggestion) for suggestion in advice.suggestions),
        wrapped(f"Plan: {advice.plan.verdict}. {_sentence(advice.plan.why)}") if advice.plan else "",
        _block("Known of the players", map(estimate_words, advice.profile[:MAX_PROFILE])),
        _block("Changed since the last advice", [change.text for change in advice.changed]),
        _block("Look for next", [f"{look.how} [{look.what}]" for look in advice.look_for]),
        _block("Held back", [f"{held.tactic} ({held.reason.value}): {held.why}" for held in advice.held_back]),
        _block("Not used", _unused_lines(advice)),
    ]


def suggestion_text(suggestion: Suggestion) -> str:
    """One numbered suggestion with everything that belongs to it."""
    rows = [
        ("Say", suggestion.say),
        ("Because", "; ".join(reason.text for reason in suggestion.because) or suggestion.why),
        ("Targets", ", ".join(f"{t.court} court {t.spot} (their {t.wing})" for t in suggestion.targets)),
        ("Worth", worth_words(suggestion.worth)),
        ("Not if", suggestion.not_if),
        ("Look again", suggestion.stop_when.removeprefix("Look again ")),
        ("Caution", suggestion.caution or ""),
        ("Source", "; ".join(source_words(source) for source in suggestion.sources)),
    ]
    head = f"{suggestion.rank}. {suggestion.title} [{suggestion.category}, {suggestion.risk} risk]"
    return "\n".join([wrapped(head, hang=3), *(_row(label, text) for label, text in rows if text)])


def estimate_words(one: Estimate) -> str:
    """A quality in shares of a hundred: "backhand errors: 24 in 100 (17 to 32), usual 20; seen 5 of 14"."""
    wing = f" ({one.wing})" if one.wing and one.wing not in one.says else ""
    estimate, low, high, usual = (f"{100 * share:.0f}" for share in (one.estimate, one.low, one.high, one.usual))
    seen = f"; seen {one.hits:g} of {one.chances:g}" if one.chances else ""
    return f"{one.says}{wing}: {estimate} in 100 ({low} to {high}), usual {usual}{seen}"


def source_words(source: SourceLine) -> str:
    """Who says so, and how it is known."""
    return f"{source.citation} [{source.status}]" if source.citation else source.status


def beliefs_text(beliefs: Iterable[Belief], traits: Mapping[str, Trait], max_beliefs: int) -> str:
    """The beliefs that moved most, each with a bar and what moved it."""
    moved = sorted(beliefs, key=lambda belief: (-abs(belief.probability - belief.prior), belief.trait))
    return "\n".join(_belief(belief, traits[belief.trait]) for belief in moved[:max_beliefs])


def fault_lines(faults: Iterable[Fault]) -> list[str]:
    """One line a fault: its JSON pointer, what was expected, and what stood there."""
    lines = []
    for fault in faults:
        found = "" if fault.value is None else f", found {json.dumps(shortened(fault.value), ensure_ascii=False)}"
        lines.append(f"{pointer_text(fault.path) or 'the body'}: expected {fault.expected}{found}")
    return lines


def seen_lines(situation: Situation, rulebook: Rulebook) -> list[str]:
    """The opponent's profile and the observations, one line each."""
    profile = [f"{key.replace('_', ' ')}: {value}" for key, value in situation.opponent.items()]
    return [*profile, *(_observation(seen, rulebook) for seen in situation.observations)]


def moment_words(moment: Moment) -> str:
    """A moment as a heading."""
    return moment.value.replace("-", " ").replace("warm up", "warm-up").capitalize()


def wrapped(text: str, *, indent: int = 0, hang: int = 0) -> str:
    """Text in lines of at most 80 columns; further lines hang in by so many more."""
    first, more = " " * indent, " " * (indent + hang)
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=more, break_on_hyphens=False)


def _belief(belief: Belief, trait: Trait) -> str:
    filled = round(belief.probability * BAR)
    name = f"{trait.title} ({belief.wing})" if trait.wing is WingRule.EACH else trait.title
    bar = f"{'#' * filled}{'.' * (BAR - filled)} {belief.probability:.2f} (from {belief.prior:.2f})"
    return "\n".join(
        [
            wrapped(f"{bar} {name}", indent=2, hang=BAR + 19),
            *(wrapped(c.text, indent=4, hang=2) for c in belief.contributions[:3]),
        ]
    )


def _observation(seen: Observation, rulebook: Rulebook) -> str:
    kind = rulebook.kinds[seen.what]
    qualifiers = [str(word) for word in (seen.wing, seen.court and f"{seen.court} court", seen.serve) if word]
    name = f"{kind.says} ({', '.join(qualifiers)})" if qualifiers else kind.says
    return f"{name}: {_said(seen, kind.unit)}"


def _said(seen: Observation, unit: str | None) -> str:
    posted = said(seen)
    if "of" in posted:
        return f"{posted['count']} of {posted['of']}"
    if "counts" in posted:
        return ", ".join(f"{option} {chances}" for option, chances in posted["counts"].items())
    if "rating" in posted:
        return f"rated {posted['rating']} of 4"
    if "amount" in posted:
        return f"{posted['amount']} {unit}"
    if "seen" in posted:
        return "yes" if posted["seen"] else "no"
    return str(posted["value"])


def _unused_lines(advice: Advice) -> list[str]:
    lines = [_unused_line(unused) for unused in advice.unused[:MAX_UNUSED]]
    more = len(advice.unused) - len(lines)
    return [*lines, f"and {more} more"] if more else lines


def _unused_line(unused: UnusedObservation) -> str:
    place = "" if unused.observation is None else f"observation {unused.observation}, "
    text = f' "{unused.text}"' if unused.text else ""
    return f"{place}{unused.what}: {unused.why}{text}"


def _block(title: str, lines: Iterable[str]) -> str:
    items = [wrapped(f"- {line}", indent=2, hang=2) for line in lines]
    return "\n".join([title, *items]) if items else ""


def _row(label: str, text: str) -> str:
    filled = textwrap.wrap(text, WIDTH - LABEL - 3, break_on_hyphens=False)
    return "\n".join(f"   {(label if number == 0 else ''):<{LABEL}}{line}" for number, line in enumerate(filled))


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
