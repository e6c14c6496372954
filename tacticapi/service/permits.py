"""At which moment a kept match is, and whether its event lets anything but safety be read now."""

from tacticapi.advice.permission import withheld
from tacticapi.domain.terms import Moment, Phase
from tacticapi.service.desk import Desk
from tacticapi.service.errors import Refused, refuse
from tacticapi.service.scorekeeping import state_after
from tacticapi.service.situations import Kept, situation


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


def withheld_now(desk: Desk, kept: Kept) -> str | None:
    """The notice that says why nothing but safety may be read of this match now, None where it may be.

    Whoever reads without saying at which moment reads as at the narrowest one.
    """
    return withheld(situation(kept, narrowest_moment(desk, kept), desk.rulebook))
