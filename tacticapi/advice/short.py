"""Advice in its short form: what can be heard in the time that there is. Safety and notices are never cut."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import count

from tacticapi.domain.advice import Advice, Suggestion
from tacticapi.domain.situation import Moment

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
    """Return say, because and stop-when in at most 45 words; tries of the `plan` are no reason, as it tells them."""
    told = [r.text for r in one.because if r.what != "tries" or one.tactic != plan] or [one.why]
    because: list[str] = []
    for text in told:
        if len(because) < MAX_REASONS and _words(one.say, one.stop_when, *because, text) <= MAX_LINE:
            because.append(text)
    return ShortLine(one, tuple(because), one.stop_when)


def short(advice: Advice) -> Short:
    """Return the advice in at most 90 words, between points 25; the first line to say stays at any length.

    Where it would be longer, second reasons go first, then looks beyond the first (between points all), then
    `stop_when` and at last the lines of further suggestions. Of the rest everything stays that fits. What speaks for
    safety is neither cut nor counted.
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
