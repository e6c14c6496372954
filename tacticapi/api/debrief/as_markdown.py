"""Debrief ▶ Markdown."""

from tacticapi.api.debrief.words import (
    NOTES,
    belief_name,
    heading,
    point_words,
    result,
    share_words,
    suggested_words,
    verdict_words,
)
from tacticapi.api.markdown import bullets, joined, plain, section, table
from tacticapi.club.debrief import BeginWith, Debrief, TacticLine
from tacticapi.pictures import percent


def debrief_markdown(told: Debrief) -> str:
    """The whole debrief as a document."""
    return joined(
        f"# Debrief: {plain(heading(told))}",
        plain(result(told)),
        section("Begin with next time", bullets(map(_begin, told.begin_with))),
        section("How the score went", _story(told)),
        section("Suggested, tried and won", bullets(map(_tactic, told.tactics))),
        section("What surprised", bullets(_surprises(told))),
        section(
            "Beliefs at the start and at the end",
            table(
                ("belief", "start", "end", "seen"),
                (
                    (belief_name(one), percent(one.start), percent(one.end), "; ".join(one.because))
                    for one in told.beliefs
                    if one.because
                ),
            ),
        ),
        section("Please note", bullets(NOTES)),
    )


def _begin(one: BeginWith) -> str:
    because = f" Because: {plain('; '.join(one.because))}." if one.because else ""
    return f"**{plain(one.title)}.** {plain(one.say)}{because} {plain(one.stop_when)}"


def _story(told: Debrief) -> str:
    if not told.story:
        return ""
    chances = [point.chance for point in told.story]
    head = (
        f"The chance to win began at {percent(told.story[0].chance_before)}, was between {percent(min(chances))} and "
        f"{percent(max(chances))}, and ended at {percent(chances[-1])}. The points that mattered most, own score first:"
    )
    return f"{head}\n\n" + "\n".join(f"{n}. {plain(point_words(p))}" for n, p in enumerate(told.important, 1))


def _tactic(line: TacticLine) -> str:
    parts = [suggested_words(line), share_words(line.tries), verdict_words(line)]
    said = [f'not used: "{reason}"' for reason in line.reasons] + list(line.outcomes)
    return f"**{plain(line.title)}**: {plain('; '.join(part for part in [*parts, *said] if part))}."


def _surprises(told: Debrief) -> list[str]:
    return [
        f"**{plain(belief_name(one))}**: {percent(one.start)} before, {percent(one.end)} after. "
        f"{plain('; '.join(one.because))}"
        for one in told.surprises
    ]
