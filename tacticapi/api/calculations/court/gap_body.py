"""The body of a gap: a stroke into the open side, where the opponent is, and how they move."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from marshmallow import ValidationError, post_load, validates_schema

from tacticapi.api.calculations.court.parts import (
    COURT_NUMBERS,
    MOST_COUNTED,
    CountedSchema,
    MovementSchema,
    StrokeSchema,
    TheirSpotSchema,
    number,
    spot,
    stroke,
    where,
    where_part,
)
from tacticapi.api.calculations.occasion import Occasion, OccasionSchema, occasion
from tacticapi.api.fields import Real, part
from tacticapi.api.situations.messages import messages
from tacticapi.court import COURT, Mover, Running, Shot
from tacticapi.court.numbers import mover_of, said_or_usual
from tacticapi.court.shot import Place
from tacticapi.knowledge import Fault

MAXIMUM_RUN = 9.0


@dataclass(frozen=True, slots=True)
class GapAsked:
    """A stroke into the open side, the opponent as it is struck, and what the patterns are played out with."""

    occasion: Occasion
    shot: Shot
    place: Place
    opponent: Running
    mover: Mover
    reply_speed: float
    recovery: float
    margin: float
    short_share: float | None


class RunningOpponentSchema(TheirSpotSchema):
    """Where your opponent is as you strike, and how they move."""

    run_mps = Real(
        -MAXIMUM_RUN, MAXIMUM_RUN, says="Their run across, metres a second, positive to your right. Absent: they stand."
    )
    movement = part(MovementSchema, says="How they move. Absent: as usual.")
    recovery_mps = number("movement", "recovery_mps", "How fast they go back to the middle, metres a second.")
    reply_speed_mps = number("shot", "speed_mps", "Speed of their replies, metres a second.")


class ShortRepliesSchema(CountedSchema):
    """Short replies from the side that you keep the ball on, out of all."""

    of = Real(1, MOST_COUNTED, required=True, says="Replies in all.")


class GapQuestionSchema(StrokeSchema, OccasionSchema):
    """A stroke into the open side, and where your opponent is. Loads into GapAsked."""

    opponent = part(RunningOpponentSchema, required=True, says="Your opponent as you strike.")
    margin_m = number("shot", "margin_m", "How far the balls of the patterns keep inside the lines.")
    short_replies = part(ShortRepliesSchema, says="How often the strong side replies short. Absent: not counted.")
    where = where_part()

    @validates_schema
    def inside(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse a target outside the court, and one whose side nobody can tell."""
        x, y = spot(data["target"])
        found = []
        if not COURT.left <= x <= COURT.right or x == 0:
            expected = f"a number from {COURT.left:g} to {COURT.right:g}, on one side of the middle"
            found.append(Fault(("target", "x"), x, expected))
        if y > COURT.back:
            found.append(Fault(("target", "y"), y, f"a number from 0.2 to {COURT.back:g}, inside the lines"))
        if found:
            raise ValidationError(messages(found))

    @post_load
    def asked(self, data: dict[str, Any], **kwargs: Any) -> GapAsked:
        """The body as it is calculated on."""
        them, short = data["opponent"], data.get("short_replies")
        reply = them.get("reply_speed_mps")
        return GapAsked(
            occasion(data),
            stroke(data),
            where(data),
            Running(spot(them), them.get("run_mps") or 0.0),
            mover_of(COURT_NUMBERS, them.get("movement")),
            float(COURT_NUMBERS["shot"]["speed_mps"]["value"] if reply is None else reply),
            said_or_usual(COURT_NUMBERS, "movement", "recovery_mps", them),
            said_or_usual(COURT_NUMBERS, "shot", "margin_m", data),
            short["count"] / short["of"] if short else None,
        )
