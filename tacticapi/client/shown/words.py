"""What the text and the page of an advice say alike."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tacticapi.client.answers.advice import Advice, Gain, SourceLine, Suggestion


def heading(advice: "Advice") -> str:
    """The moment and the rules."""
    moment = advice.moment.replace("-", " ").replace("warm up", "warm-up").capitalize()
    return f"{moment} · rules {advice.rulebook.version}"


def reasons(suggestion: "Suggestion") -> list[str]:
    """Why now, in counts; why it works where nothing was seen that speaks for it."""
    return [reason.text for reason in suggestion.because] or [suggestion.why]


def rows(suggestion: "Suggestion") -> list[tuple[str, str]]:
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


def worth(gain: "Gain") -> str:
    """The gain in points of a hundred and in the chance of the match, with the interval of 8 in 10."""
    said = f"{100 * gain.point:+.2f} points in 100"
    if gain.match is None or gain.match_low is None or gain.match_high is None:
        return said
    interval = f"8 in 10: {100 * gain.match_low:+.1f} to {100 * gain.match_high:+.1f}"
    return f"{said}; {100 * gain.match:+.1f} % of the match ({interval})"


def source_words(source: "SourceLine") -> str:
    """Who says so, and how it is known."""
    return f"{source.citation} [{source.status}]" if source.citation else source.status


def plan_words(advice: "Advice") -> str:
    """Whether to keep the plan, and why; empty where there is none."""
    return f"{advice.plan}: {advice.plan_why}" if advice.plan and advice.plan_why else advice.plan or ""
