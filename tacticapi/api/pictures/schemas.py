"""For which moment a picture is wanted, and what is to be on it."""

from marshmallow.validate import Range

from tacticapi.api.choice import a_choice
from tacticapi.api.paging import Digits
from tacticapi.api.shapes import Shape
from tacticapi.domain.terms import Moment

MOST_BELIEFS, BELIEFS = 100, 12
_LIMIT = f"a whole number from 1 to {MOST_BELIEFS}"


class PictureQuery(Shape):
    """For which moment the picture is wanted."""

    moment = a_choice(
        Moment,
        "When it is looked at; permissions depend on it. Absent: before the match, after it, or, while it is played, "
        "between points, where an event permits least.",
    )


class BeliefsQuery(PictureQuery):
    """How many beliefs are wanted."""

    limit = Digits(
        validate=Range(1, MOST_BELIEFS, error=_LIMIT),
        error_messages={"invalid": _LIMIT},
        metadata={"description": f"Most beliefs, those that moved most first. Absent: {BELIEFS}."},
    )


class ServesQuery(PictureQuery):
    """Which serves are wanted."""

    serve = a_choice(("first", "second"), "Only such serves. Absent: all, those of unknown kind too.")
