"""Safety lines: before tactics, and alone if a sign asks for it."""

from tacticapi.advice.ranking import is_safety
from tacticapi.advice.wording import site_words, source_lines
from tacticapi.domain.advice import Safety
from tacticapi.domain.firing import Firings
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Show
from tacticapi.inference.danger import Health

GENERAL = "safety-overrides-tactics"  # first, since it says to stop; the others say what to do then


def safety_lines(firings: Firings, rulebook: Rulebook, health: Health) -> tuple[Safety, ...]:
    """Return the safety tactics whose trigger was seen. If one stands alone, only such are returned.

    A line of a house that stands alone takes no safety line of ours away. Reminders of safety (show: reminder) take
    their place among the suggestions instead.
    """
    fired = [min(found, key=lambda firing: firing.alternative) for found in firings.by_tactic.values()]
    seen = [each for each in fired if is_safety(each.tactic) and each.tactic.show is Show.FIRST]
    if any(each.tactic.alone and not each.tactic.house for each in seen):
        seen = [each for each in seen if each.tactic.alone]
    seen.sort(key=lambda each: (each.tactic.id != GENERAL, each.tactic.id))
    return tuple(
        Safety(
            tactic=each.tactic.id,
            say=site_words(each.tactic.when[each.alternative].say or each.tactic.say, health),
            why=each.tactic.why,
            caution=each.tactic.caution,
            alone=each.tactic.alone,
            sources=source_lines(each.tactic, rulebook),
        )
        for each in seen
    )
