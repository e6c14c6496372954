"""Safety lines: before tactics, and alone where a sign asks for it."""

from tacticapi.advice.wording import source_lines
from tacticapi.domain.advice import Safety
from tacticapi.domain.firing import Firings
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Show

PAIN = "pain-is-a-stop-sign"
SAFETY_AUTHORITY = 1


def safety_lines(firings: Firings, rulebook: Rulebook) -> tuple[Safety, ...]:
    """Return the safety tactics whose trigger was seen, by id. Where one stands alone, only such are said.

    A line of a house that stands alone takes no safety line of ours away. Reminders of safety (show: reminder) take
    their place among the suggestions instead.
    """
    fired = (rulebook.tactics[name] for name in firings.by_tactic)
    seen = (t for t in fired if t.authority == SAFETY_AUTHORITY and t.show is Show.FIRST)
    tactics = sorted(seen, key=lambda t: t.id)
    if any(t.alone and not t.house for t in tactics):
        tactics = [t for t in tactics if t.alone]
    return tuple(Safety(t.id, t.say, t.why, t.caution, t.alone, source_lines(t, rulebook)[0]) for t in tactics)


def own_pain(firings: Firings) -> bool:
    """Whether pain was posted: then no tactical line is shown beside the safety line."""
    return PAIN in firings.by_tactic
