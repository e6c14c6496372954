"""Whether the event lets anything but safety be shown at this moment, and what the reader must be told.

Off-court coaching and analysis devices are two permissions of the event (Rules of Tennis, Rules 30 and 31: text
seen); from the court warm-up to the last point both bind.
"""

from typing import Protocol

from tacticapi.domain.terms import Coaching, Device, Moment

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
NO_COACHING = "Only safety is shown: this event's rules do not permit coaching at this moment."
NO_DEVICE = "Only safety is shown: nobody may consult a device during this match."


class Asked(Protocol):
    """What decides whether an answer may be shown; a Situation is one."""

    @property
    def moment(self) -> Moment | None:
        """When it is asked; None while planning, outside a match."""

    @property
    def coaching(self) -> Coaching:
        """When the event permits coaching."""

    @property
    def device(self) -> Device:
        """Who may consult a device."""

    @property
    def ages(self) -> tuple[str, ...]:
        """Every age band known."""


def withheld(asked: Asked) -> str | None:
    """Return the notice that says why advice is withheld, None when it may be shown."""
    if asked.moment not in IN_MATCH:
        return None
    if asked.moment not in COVERED[asked.coaching]:
        return NO_COACHING
    return NO_DEVICE if asked.device is Device.NOBODY else None


def permission_notices(asked: Asked) -> tuple[str, ...]:
    """Return what must be said because a permission is not known, or not whether this is during a match."""
    planning = asked.moment is None
    if not planning and asked.moment not in IN_MATCH:
        return ()
    if not planning and Coaching.UNKNOWN is not asked.coaching and Device.UNKNOWN is not asked.device:
        return ()
    return (CHECK, JUNIORS_CHECK) if is_junior(asked) else (CHECK,)


def is_junior(asked: Asked) -> bool:
    """Whether any posted age band is under 18."""
    return any(band in JUNIOR for band in asked.ages)
