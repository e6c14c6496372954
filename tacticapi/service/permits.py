"""At which moment a kept match is, and whether anything but safety may be read of it now."""

from tacticapi.domain.advice import Advice
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Moment, Phase
from tacticapi.inference.failures import TooManyMatches
from tacticapi.service.desk import Desk
from tacticapi.service.errors import NotPermitted, Refused, refuse
from tacticapi.service.scorekeeping import state_after
from tacticapi.service.situations import Kept, situation

UNCHECKED = "Only safety is shown: these observations match the rules in too many ways to rule out a danger sign."


def check_moment(desk: Desk, kept: Kept, moment: Moment) -> None:
    """Refuse "before the match" once it is under way, and "after the match" while it is.

    At those two moments an event's rules on coaching and devices do not bind, so they must not be claimed in between.
    """
    state = state_after(kept.steps)
    over = kept.match.status == "ended" or (state is not None and state.winner is not None)
    kinds = (desk.rulebook.kinds.get(entry.kind) for entry in kept.observations)
    begun = bool(kept.steps) or any(kind is not None and Phase.BEFORE not in kind.phases for kind in kinds)
    if over and moment is not Moment.AFTER_MATCH:
        raise refuse("after-match: this match is over", "moment", value=moment.value)
    if moment is Moment.AFTER_MATCH and not over:
        raise refuse("a moment during the match: it is not over yet", "moment", value=moment.value)
    if moment is Moment.BEFORE_MATCH and begun:
        raise refuse("a moment during the match: it has begun", "moment", value=moment.value)


def narrowest_moment(desk: Desk, kept: Kept) -> Moment:
    """Before the match, after it, or, in between, the moment at which an event permits least."""
    for moment in (Moment.BEFORE_MATCH, Moment.AFTER_MATCH):
        try:
            check_moment(desk, kept, moment)
        except Refused:
            continue
        return moment
    return Moment.BETWEEN_POINTS


def withheld_now(desk: Desk, kept: Kept) -> Advice | None:
    """Return safety and notice alone if nothing else may be read of this match now; None if everything may be.

    A danger sign, pain that stops play, and an event that does not permit advice each withhold the rest until they end
    or the match does. A reader who names no moment reads as at the narrowest one.
    """
    if kept.match.status == "ended":
        return None
    return withheld_at(desk, situation(kept, narrowest_moment(desk, kept), desk.rulebook))


def withheld_at(desk: Desk, asked: Situation) -> Advice | None:
    """Return safety and notice alone if nothing else may be shown of a running match in this situation."""
    try:
        return desk.adviser.standing(asked)
    except TooManyMatches:
        return Advice(asked.moment, desk.rulebook.version, desk.rulebook.digest, notice=(UNCHECKED,))


def not_permitted(instead: Advice) -> NotPermitted:
    """Return the refusal of everything but safety: what to do for safety, then why nothing else is shown."""
    return NotPermitted(alone_in_words(instead))


def alone_in_words(instead: Advice) -> str:
    """Return safety and notice as one text, safety first."""
    return " ".join([*(line.say for line in instead.safety), *instead.notice])
