"""The closed lists of words that the whole service shares."""

from enum import StrEnum


class Moment(StrEnum):
    """When advice is asked for."""

    BEFORE_MATCH = "before-match"
    AFTER_WARM_UP = "after-warm-up"
    BETWEEN_POINTS = "between-points"
    CHANGE_OF_ENDS = "change-of-ends"
    SET_BREAK = "set-break"
    AFTER_MATCH = "after-match"


class Phase(StrEnum):
    """When a thing can be seen."""

    BEFORE = "before"
    WARM_UP = "warm-up"
    GAMES = "games"


class Way(StrEnum):
    """How an observation is said."""

    COUNT = "count"
    COUNTS = "counts"
    RATING = "rating"
    VALUE = "value"
    AMOUNT = "amount"
    SEEN = "seen"
    TEXT = "text"


class Wing(StrEnum):
    """A player's stroke side; never left or right, so that left-handers need no exceptions."""

    FOREHAND = "forehand"
    BACKHAND = "backhand"

    @property
    def other(self) -> "Wing":
        """The opposite wing."""
        return Wing.BACKHAND if self is Wing.FOREHAND else Wing.FOREHAND


class Coaching(StrEnum):
    """When the event permits coaching."""

    PERMITTED = "permitted"
    CHANGE_OF_ENDS_AND_SET_BREAK = "change-of-ends-and-set-break"
    SET_BREAK = "set-break"
    NOT_PERMITTED = "not-permitted"
    UNKNOWN = "unknown"


class Device(StrEnum):
    """Who may consult a device."""

    PLAYER = "player"
    COACH = "coach"
    NOBODY = "nobody"
    UNKNOWN = "unknown"


class Show(StrEnum):
    """How a tactic finds its place in the list."""

    FIRST = "first"
    GAIN = "gain"
    REMINDER = "reminder"


class HeldBack(StrEnum):
    """Why a tactic that matched the evidence is not suggested."""

    OWN_ABILITY = "own-ability"
    CONFLICT = "conflict"
    COUNTER_INDICATION = "counter-indication"
    MOMENT = "moment"
    COACHING = "coaching"
    DEVICE = "device"


class Plan(StrEnum):
    """The verdict on what is being played now."""

    KEEP = "keep"
    ADJUST = "adjust"
    CHANGE = "change"
