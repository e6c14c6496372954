"""What commands print for a person, how far they have come, and the rules and situations that they read.

Advice is printed in short, as it can be heard in the time that there is; safety and notices are never cut.
"""

import json
import sys
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from itertools import count
from typing import TypeVar

import click

from tacticapi.cli import FAULTY
from tacticapi.domain.advice import Advice, Suggestion
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Moment, Situation, Verdict
from tacticapi.rulebook.files import Fault, RuleFileError, pointer_text, rule_paths
from tacticapi.rulebook.load import load

WIDTH = 80
Item = TypeVar("Item")
Part = tuple[str, int]
MAX_LINE, MAX_WORDS, MAX_BETWEEN_POINTS, MAX_REASONS = 45, 90, 25, 2
# what is needed most comes first; each part with its place among those of its kind, below 0 for safety
NEEDED = [("say", 0), ("because", 0), ("stop", 0), ("plan", 0), ("score", 0), ("look", 0)]
NEEDED_BETWEEN_POINTS = [("say", 0), ("because", 0), ("score", 0), ("plan", 0), ("stop", 0)]
LATER = {"say": 1, "because": 1, "stop": 2, "look": 3, "second": 4}


@dataclass(frozen=True, slots=True)
class ShortLine:
    """A suggestion in three parts: say, at most two reasons, when to look again. A part that was cut is empty."""

    of: Suggestion
    because: tuple[str, ...]
    stop_when: str


@dataclass(frozen=True, slots=True)
class Short:
    """What is left of an advice; `plan` is the reason of its verdict. A part that was cut is empty."""

    lines: tuple[ShortLine, ...]
    plan: str
    score: str
    looks: tuple[str, ...]


def short_line(one: Suggestion, plan: str | None = None) -> ShortLine:
    """Return say, because and stop-when in at most 45 words, without the tries of the `plan`, which it shows."""
    told = [r.text for r in one.because if r.what != "tries" or one.tactic != plan] or [one.why]
    because: list[str] = []
    for text in told:
        if len(because) < MAX_REASONS and _words(one.say, one.stop_when, *because, text) <= MAX_LINE:
            because.append(text)
    return ShortLine(one, tuple(because), one.stop_when)


def short(advice: Advice) -> Short:
    """Return the advice in at most 90 words, between points 25; the first line to say stays at any length.

    If it would be longer, second reasons go first, then looks beyond the first (between points all), then
    `stop_when` and at last the lines of further suggestions. Everything else stays if it fits. Safety
    is neither cut nor counted.
    """
    between, plan = advice.moment is Moment.BETWEEN_POINTS, advice.plan
    counted = plan is not None and any(map(str.isdigit, plan.why))
    why = plan.why if plan and (counted or not advice.suggestions) else ""  # without a count it adds nothing to a line
    score = (advice.score or "").partition("," if between else ";")[0]  # who serves where is plain to see
    parts = {("plan", 0): why, ("score", 0): score}
    playing, safe = count(), count(-1, -1)
    lines = {
        next(safe if one.safety else playing): short_line(one, plan.tactic if plan else None)
        for one in advice.suggestions
        if one.tactic not in {line.tactic for line in advice.safety}  # told in whole before
    }
    for place, line in lines.items():
        texts = zip(("because", "second"), line.because, strict=False)
        parts |= {(part, place): text for part, text in (("say", line.of.say), *texts, ("stop", line.stop_when))}
    looks = dict.fromkeys(look.how for look in advice.look_for)
    parts |= {("look", place): how for place, how in enumerate(looks)}
    kept = _kept(parts, NEEDED_BETWEEN_POINTS if between else NEEDED, MAX_BETWEEN_POINTS if between else MAX_WORDS)
    left = tuple(
        ShortLine(
            line.of,
            tuple(kept[part, place] for part in ("because", "second") if (part, place) in kept),
            kept.get(("stop", place), ""),
        )
        for place, line in lines.items()
        if ("say", place) in kept
    )
    asked = tuple(text for (part, _), text in kept.items() if part == "look")
    return Short(left, kept.get(("plan", 0), ""), kept.get(("score", 0), ""), asked)


def _kept(parts: Mapping[Part, str], needed: Sequence[Part], room: int) -> dict[Part, str]:
    """Return every needed part that fits, then the others up to the first that does not."""

    def rank(part: Part) -> tuple[int, int]:
        kind, place = part
        if place < 0:
            return -1, place
        return (0, needed.index(part)) if part in needed else (LATER[kind], place)

    order = sorted(parts, key=rank)
    kept, whole = {part: parts[part] for part in order if part[1] < 0}, True
    for part in order[len(kept) :]:
        fits = _words(parts[part]) <= room
        whole = whole and fits
        if part == ("say", 0) or (fits and (whole or part in needed)):
            kept[part] = parts[part]
            room -= _words(parts[part])
    return kept


def _words(*texts: str) -> int:
    return sum(len(text.split()) for text in texts)


def short_text(advice: Advice, most: int | None = None) -> str:
    """Return the safety lines whole, then at most `most` suggestions, the plan, the score and the looks, in short."""
    told = short(advice)
    lines = [_block("SAFETY FIRST", (f"{line.say} {line.caution or ''}".strip() for line in advice.safety))]
    for number, line in enumerate(told.lines[:most], start=1):
        because = "; ".join(line.because)
        because = f"Because {because}." if because and not because.endswith(".") else because  # else a whole sentence
        caution = f"Caution: {line.of.caution}" if line.of.caution else ""
        lines.append(wrapped(f"{number}. {line.of.say}", hang=3))
        lines += [wrapped(text, indent=3) for text in (because, line.stop_when, caution) if text]
    verdict, over = advice.plan.verdict if advice.plan else Verdict.KEEP, advice.moment is Moment.AFTER_MATCH
    decided = "" if over else f"{verdict}. "
    plan = f"Plan: {decided}{_sentence(told.plan)}" if told.plan or verdict is not Verdict.KEEP else ""
    score = f"Score: {told.score}." if told.score else ""
    looks = (f"{'Next time' if over else 'Look'}: {look}." for look in told.looks)
    return "\n".join(filter(None, [*lines, *(wrapped(text, hang=3) for text in (plan, score, *looks))]))


def advice_text(advice: Advice) -> str:
    """The advice in short, under its moment, ending without a newline."""
    head = f"{moment_words(advice.moment)} · rules {advice.version}"
    return "\n\n".join(filter(None, [head, short_text(advice), _block("Please note", advice.notice)]))


def fault_lines(faults: Iterable[Fault]) -> list[str]:
    """Yield a line for each fault: its JSON pointer, what was expected, and the posted value."""
    from tacticapi.api.http.problems import shortened  # noqa: PLC0415  (the API takes a second)

    lines = []
    for fault in faults:
        found = "" if fault.value is None else f", found {json.dumps(shortened(fault.value), ensure_ascii=False)}"
        lines.append(f"{pointer_text(fault.path) or 'the body'}: expected {fault.expected}{found}")
    return lines


def moment_words(moment: Moment) -> str:
    """A moment as a heading."""
    return moment.value.replace("-", " ").replace("warm up", "warm-up").capitalize()


def wrapped(text: str, *, indent: int = 0, hang: int = 0) -> str:
    """Return text in lines of at most 80 columns; further lines are indented by `hang`."""
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
    """Our rules and the house's. Ends the command with every mistake if they are invalid."""
    try:
        return load(rule_paths())
    except RuleFileError as error:
        raise click.ClickException(f"the rules cannot be used:\n{error}") from None


def posted_situation(body: bytes, rulebook: Rulebook) -> Situation:
    """The situation that a JSON text means. Ends the command with a line for each fault."""
    from tacticapi.api.situations import SituationError, situation_of_json  # noqa: PLC0415  (as above)
    from tacticapi.posted import StrictJsonError  # noqa: PLC0415

    try:
        return situation_of_json(body, rulebook)
    except (StrictJsonError, SituationError) as error:
        for line in fault_lines(error.faults):
            click.echo(line, err=True)
        raise SystemExit(FAULTY) from None
