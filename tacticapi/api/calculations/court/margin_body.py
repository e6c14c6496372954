"""The body of a shot margin: a stroke, and how far the player's balls scatter."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from marshmallow import ValidationError, post_load, validates_schema

from tacticapi.api.calculations.court.parts import (
    COURT_NUMBERS,
    MOST_COUNTED,
    StrokeSchema,
    TheirSpotSchema,
    number,
    spot,
    stroke,
    where,
    where_part,
)
from tacticapi.api.calculations.occasion import Occasion, OccasionSchema, occasion
from tacticapi.api.fields import Real, Whole, Word, part
from tacticapi.api.shapes import Shape
from tacticapi.api.situations.messages import messages
from tacticapi.api.strict_json import LARGEST
from tacticapi.court import BOXES, COURT, Region, Shot, Spread
from tacticapi.court.numbers import said_or_usual
from tacticapi.court.shot import Outcome, Place, Spot
from tacticapi.domain.court import BASELINE_M, SIDELINE_M
from tacticapi.knowledge import Fault

MOST_DRAWS = int(COURT_NUMBERS["draws"]["high"])
LEAST_DRAWS = int(COURT_NUMBERS["draws"]["low"])
SEED = 1  # the same question gives the same answer
ONE_SPREAD = "at most one of level, spread and counts"


@dataclass(frozen=True, slots=True)
class MarginAsked:
    """A stroke with its place and what is known of the player's spread: a level, degrees, or counts."""

    occasion: Occasion
    shot: Shot
    place: Place
    came_from: Spot
    draws: int
    seed: int
    depth_weight: float
    level: str | None = None
    spread: Spread | None = None
    counts: Mapping[Outcome, float] | None = None


class SpreadSchema(Shape):
    """How far balls scatter about the aim, as standard deviations."""

    vertical_deg = number("spread_deg", "", "Degrees up-down.")
    sideways_deg = number("spread_deg", "", "Degrees sideways.")


class BallCountsSchema(Shape):
    """What became of balls of this stroke, all meant for this target. A ball both long and wide counts as long."""

    vars()["in"] = Real(0, MOST_COUNTED, says="Balls that were in. Absent: none.")
    net = Real(0, MOST_COUNTED, says="Balls in the net. Absent: none.")
    long = Real(0, MOST_COUNTED, says="Balls beyond the baseline, or a serve beyond its box. Absent: none.")
    wide = Real(0, MOST_COUNTED, says="Balls beside the court, or a serve beside its box. Absent: none.")


class ShotMarginQuestionSchema(StrokeSchema, OccasionSchema):
    """A stroke, and at most one of level, spread and counts. Loads into MarginAsked."""

    serve = Word(BOXES, says="The court that is served into. Absent: no serve, and the whole court counts as in.")
    level = Word(COURT_NUMBERS["spreads"], says="Whose spread to take.", default=COURT_NUMBERS["usual_level"])
    spread = part(SpreadSchema, says="The player's own spread. Absent: that of the level.")
    counts = part(BallCountsSchema, says="Counted balls, from which the spread is estimated. Absent: not counted.")
    came_from = part(TheirSpotSchema, says="Where your opponent struck the ball. Absent: the corner across from you.")
    depth_weight = number("shot", "depth_weight", "Weight of depth against in, for the second best aim.")
    draws = Whole(LEAST_DRAWS, MOST_DRAWS, says=f"Balls that are flown. Absent: {COURT_NUMBERS['draws']['value']}.")
    seed = Whole(0, LARGEST, says="What fixes the draws. Absent: 1, so that the same question has the same answer.")
    where = where_part()

    @validates_schema
    def possible(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse a target outside what counts as in, two sources of the spread, and counts of nothing."""
        into = BOXES[data["serve"]] if data.get("serve") else COURT
        found = list(_outside(into, spot(data["target"])))
        if data.get("counts") is not None and not sum(value or 0 for value in data["counts"].values()):
            found.append(Fault(("counts",), data["counts"], "at least one ball"))
        if found:
            raise ValidationError(messages(found))
        if sum(data.get(name) is not None for name in ("level", "spread", "counts")) > 1:
            raise ValidationError(ONE_SPREAD)

    @post_load
    def asked(self, data: dict[str, Any], **kwargs: Any) -> MarginAsked:
        """The body as it is calculated on."""
        shot = stroke(data, into=BOXES[data["serve"]] if data.get("serve") else COURT)
        came_from = spot(data["came_from"]) if data.get("came_from") else _across(shot)
        counts, spread = data.get("counts"), data.get("spread")
        return MarginAsked(
            occasion(data),
            shot,
            where(data),
            came_from,
            int(data.get("draws") or COURT_NUMBERS["draws"]["value"]),
            SEED if data.get("seed") is None else data["seed"],
            said_or_usual(COURT_NUMBERS, "shot", "depth_weight", data),
            data.get("level"),
            _spread(spread) if spread is not None else None,
            {outcome: counts.get(outcome.name.lower()) or 0.0 for outcome in Outcome} if counts is not None else None,
        )


def _outside(into: Region, target: Spot) -> list[Fault]:
    x, y = target
    found = []
    if not into.left <= x <= into.right:
        found.append(Fault(("target", "x"), x, f"a number from {into.left:g} to {into.right:g}, inside the lines"))
    if y > into.back:
        found.append(Fault(("target", "y"), y, f"a number from 0.2 to {into.back:g}, inside the lines"))
    return found


def _across(shot: Shot) -> Spot:
    """The corner across from the contact."""
    return (-SIDELINE_M if shot.contact[0] >= 0 else SIDELINE_M), BASELINE_M


def _spread(data: Mapping[str, Any]) -> Spread:
    usual = COURT_NUMBERS["spread_deg"]["value"]
    known = (data.get(name) for name in ("vertical_deg", "sideways_deg"))
    return Spread(*(float(usual if degrees is None else degrees) for degrees in known))
