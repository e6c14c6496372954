"""Put safety before tactics: permission (Rules of Tennis, Rules 30 and 31: text seen), safety lines, notices."""

from typing import Protocol

from tacticapi.advice.selection import is_safety
from tacticapi.advice.words import site_words, source_lines
from tacticapi.domain.advice import Safety
from tacticapi.domain.reasoning import Firings
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Coaching, Device, Moment, Show, Situation
from tacticapi.rulebook.danger import Health
from tacticapi.scoring.score import State, is_change_of_ends

IN_MATCH = frozenset({Moment.AFTER_WARM_UP, Moment.BETWEEN_POINTS, Moment.CHANGE_OF_ENDS, Moment.SET_BREAK})
COVERED = {
    Coaching.PERMITTED: IN_MATCH,
    Coaching.CHANGE_OF_ENDS_AND_SET_BREAK: frozenset({Moment.CHANGE_OF_ENDS, Moment.SET_BREAK}),
    Coaching.SET_BREAK: frozenset({Moment.SET_BREAK}),
    Coaching.NOT_PERMITTED: frozenset[Moment](),
    Coaching.UNKNOWN: IN_MATCH,
}
JUNIOR = frozenset({"U12", "U14", "U18"})

CHECK = "Check your event's rules on coaching and analysis devices before using this during play."
JUNIORS_CHECK = "Most junior events do not allow coaching or devices during a match: ask the referee first."
NO_COACHING = "Only safety advice is shown: this event's rules do not permit coaching at this moment."
NO_DEVICE = "Only safety advice is shown: nobody may consult a device during this match."
DEFAULTS = "Gains and thresholds are this service's model defaults, not measured results."
NOT_A_CHANGE = "At this score, players do not change ends: they do so after every odd game of a set."
NO_HAND = "Your opponent's playing hand is not known, so no serve targets are given."
NO_WIND_END = "Say which way the wind blows at each end: its strength alone says little."
WINDY = ("moderate", "strong")
GENERAL = "safety-overrides-tactics"  # first, because it says to stop; the others say what to do next


class AnswerRequest(Protocol):
    """The facts, held by a Situation, that decide whether advice is permitted."""

    @property
    def moment(self) -> Moment | None:
        """Return the moment that advice is for; None while planning, outside a match."""

    @property
    def coaching(self) -> Coaching:
        """Return when the event permits coaching."""

    @property
    def device(self) -> Device:
        """Return who may consult a device."""

    @property
    def ages(self) -> tuple[str, ...]:
        """Return all known age bands."""


def withheld(asked: AnswerRequest) -> str | None:
    """Return the notice that says why advice is withheld, or None if advice may be shown."""
    if asked.moment not in IN_MATCH:
        return None
    if asked.moment not in COVERED[asked.coaching]:
        return NO_COACHING
    return NO_DEVICE if asked.device is Device.NOBODY else None


def permission_notices(asked: AnswerRequest) -> tuple[str, ...]:
    """Return the notices to show if a permission or the moment is unknown."""
    planning = asked.moment is None
    if not planning and asked.moment not in IN_MATCH:
        return ()
    if not planning and Coaching.UNKNOWN is not asked.coaching and Device.UNKNOWN is not asked.device:
        return ()
    return (CHECK, JUNIORS_CHECK) if is_junior(asked) else (CHECK,)


def is_junior(asked: AnswerRequest) -> bool:
    """Report whether any posted age band is under 18."""
    return any(band in JUNIOR for band in asked.ages)


def safety_lines(firings: Firings, rulebook: Rulebook, health: Health) -> tuple[Safety, ...]:
    """Return the safety tactics whose trigger was seen. If any of them has `alone`, return only those with it.

    A house line with `alone` never hides our safety lines. Safety reminders (show: reminder) appear among the
    suggestions instead.
    """
    fired = [found for found in firings.by_tactic.values() if is_safety(found[0].tactic)]
    first = [min(found, key=lambda firing: firing.alternative) for found in fired]
    seen = [each for each in first if each.tactic.show is Show.FIRST]
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


def notices(situation: Situation, state: State, rulebook: Rulebook) -> tuple[str, ...]:
    """Return the notices for a situation in which advice may be shown, permissions first."""
    lines = list(permission_notices(situation))
    if situation.moment is Moment.CHANGE_OF_ENDS and situation.score is not None and not is_change_of_ends(state):
        lines.append(NOT_A_CHANGE)
    if situation.context.get("wind") in WINDY and not situation.context.get("wind_direction"):
        lines.append(NO_WIND_END)
    if situation.opponent.get("handedness") is None:
        lines.append(NO_HAND)
    return (*lines, DEFAULTS)
