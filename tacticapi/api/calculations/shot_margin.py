"""Calculate how risky a shot is, where to aim instead, and the same ball to the other side."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from operator import itemgetter
from typing import Any, NamedTuple

from marshmallow import ValidationError, post_load, validates_schema

from tacticapi.api.calculations import parts
from tacticapi.api.http import fields as wire
from tacticapi.api.situations import messages
from tacticapi.court import shot as margins
from tacticapi.court.flight import BOXES, COURT, Region
from tacticapi.court.shot import Outcome, Spread
from tacticapi.court.standing import spread_of
from tacticapi.domain.court import BASELINE_M, NET_CENTRE_HEIGHT_M, SIDELINE_M
from tacticapi.rulebook.files import Fault
from tacticapi.rulebook.load import court_numbers

ONE_SPREAD = "at most one of level, spread and counts"


class SpreadSchema(wire.Shape):
    """The scatter of balls around the aim, as standard deviations."""

    vertical_deg = parts.number("spread_deg", "", "Vertical standard deviation, degrees.")
    sideways_deg = parts.number("spread_deg", "", "Sideways standard deviation, degrees.")

    @post_load
    def spread(self, data: dict[str, Any], **kwargs: Any) -> Spread:
        """Return the spread."""
        return Spread(data["vertical_deg"], data["sideways_deg"])


class BallCountsSchema(wire.Shape):
    """Outcomes of this stroke, all aimed at this target. Count a ball both long and wide as long."""

    vars()["in"] = wire.Real(0, parts.MAX_COUNTED, says="Balls that were in. Omit if none.")
    net = wire.Real(0, parts.MAX_COUNTED, says="Balls in the net. Omit if none.")
    long = wire.Real(0, parts.MAX_COUNTED, says="Balls beyond the baseline, or a serve beyond its box. Omit if none.")
    wide = wire.Real(0, parts.MAX_COUNTED, says="Balls beside the court, or a serve beside its box. Omit if none.")

    @post_load
    def counts(self, data: dict[str, Any], **kwargs: Any) -> dict[Outcome, float]:
        """Return the counts by outcome."""
        return {outcome: data.get(outcome.name.lower(), 0.0) for outcome in Outcome}


class ShotMarginQuestionSchema(parts.StrokeSchema, parts.OccasionSchema):
    """A stroke, and at most one of level, spread and counts."""

    serve = wire.Word(BOXES, says="The court served into. Default: not a serve; the whole court counts as in.")
    level = parts.choice("spreads", "usual_level", "Which level's spread to use.")
    spread = wire.part(SpreadSchema, says="The player's own spread. Default: the spread for the level.")
    counts = wire.part(BallCountsSchema, says="Counted balls, from which to estimate the spread. Omit if none.")
    came_from = wire.part(parts.TheirSpotSchema, says="Where the ball came from. Default: the corner across from you.")
    depth_weight = parts.number(
        "shot", "depth_weight", "Weight of depth relative to keeping the ball in, for the second aim."
    )
    where = parts.WHERE

    @validates_schema(pass_original=True)
    def possible(self, data: Mapping[str, Any], original: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse a target outside the region that counts as in, two sources for the spread, and empty counts."""
        found = parts.outside(_into(data.get("serve")), data["target"])
        if "counts" in data and not sum(data["counts"].values()):
            found.append(Fault(("counts",), data["counts"], "at least one ball"))
        if found:
            raise ValidationError(messages(found))
        if sum(original.get(name) is not None for name in ("level", "spread", "counts")) > 1:
            raise ValidationError(ONE_SPREAD)

    def complete(self, query: parts.Question) -> None:
        """Add the shot, and where the ball came from."""
        query.shot = parts.stroke(query, into=_into(query.serve))
        across = -SIDELINE_M if query.shot.contact[0] >= 0 else SIDELINE_M
        query.came_from = query.came_from or (across, BASELINE_M)


def _into(serve: str | None) -> Region:
    return BOXES[serve] if serve else COURT


WIDE_M = 0.5  # beyond this distance from the middle, one side is down the line and the other across
GRID = "Chances are summed over a grid of angles and accurate to 0.004."
AIMS_THERE = "The model assumes that balls scatter evenly around the aim; no real aim is that good."


@dataclass(frozen=True, slots=True)
class MarginResult:
    """A calculated shot margin: the spread and its source, the shot, the best aims, and the other side."""

    query: parts.Question
    source: str
    sides: tuple[margins.FittedAngle, margins.FittedAngle]
    balls: float | None
    meant: margins.Margin
    best: tuple[margins.BestAim, margins.BestAim]
    other: margins.Margin | None

    @property
    def direction(self) -> str:
        """Return across, line, serve, or (from the middle, which is on neither side) straight."""
        if self.query.shot.into is not COURT:
            return "serve"
        if self.other is None:
            return "straight"
        return "line" if self.query.shot.contact[0] * self.query.shot.target[0] > 0 else "across"


def margin_result(query: parts.Question) -> MarginResult:
    """Calculate a margin. Raises OutOfReachError if the ball cannot reach its target."""
    fitted = margins.fitted_spread(query.shot, query.where, query.counts) if query.counts else None
    if fitted:
        source, spread, sides = "counts", fitted.spread, (fitted.vertical, fitted.sideways)
    else:
        level = spread_of(court_numbers(), query.level, serve=query.shot.into is not COURT)
        source, spread = ("posted", query.spread) if query.spread else ("level", level)
        vertical, sideways = (margins.FittedAngle(one, one, one) for one in (spread.vertical, spread.sideways))
        sides = vertical, sideways
    meant = margins.shot_margin(query.shot, query.where, spread, query.came_from)
    best = margins.best_aims(query.shot, query.where, spread, query.depth_weight)
    sided = query.shot.into is COURT and abs(query.shot.contact[0]) >= WIDE_M and query.shot.target[0] != 0
    other = margins.shot_margin(margins.mirrored(query.shot), query.where, spread, query.came_from) if sided else None
    return MarginResult(query, source, sides, fitted.balls if fitted else None, meant, best, other)


def comparison(result: MarginResult) -> Iterator[str]:
    """Yield how the same ball compares cross-court and down the line: the chances, and what makes the difference."""
    if result.other is None:
        return
    pair = (result.meant, result.other) if result.direction == "across" else (result.other, result.meant)
    across, line = pair
    chance = {one: 100 * margin.chances[Outcome.IN] for one, margin in zip(("across", "line"), pair, strict=True)}
    in_words = f"{chance['across']:.1f} of 100 cross-court, {chance['line']:.1f} down the line"
    yield f"In: {in_words}, equally far from the lines."
    for name, outcomes in (("net or long", (Outcome.NET, Outcome.LONG)), ("wide", (Outcome.WIDE,))):
        missed = [100 * sum(margin.chances[one] for one in outcomes) for margin in pair]
        yield f"Missed {name}: {missed[0]:.1f} of 100 cross-court, {missed[1]:.1f} down the line."
    yield (
        f"The net is {across.way.net_height:.2f} m high where the ball passes cross-court, "
        f"{line.way.net_height:.2f} m down the line ({NET_CENTRE_HEIGHT_M:.3f} m in the middle)."
    )
    yield f"There are {across.way.room:.1f} m of court along the path cross-court, {line.way.room:.1f} m down the line."
    yield (
        f"The ball turns by {across.way.turn:.0f} degrees cross-court and by {line.way.turn:.0f} down the line; "
        "the model uses the same spread for both, although a sharper turn is harder to time."
    )


def _notes(result: MarginResult) -> Iterator[str]:
    if result.balls is not None:
        yield f"The spread is the most likely one for {result.balls:g} balls; low and high bound the 80 % interval."
        if any(end is None for side in result.sides for end in (side.low, side.high)):
            yield "A bound is absent if the counted balls leave it open."
    if result.meant.way.over_net < 0:
        yield "Struck as intended, this ball hits the net: it needs more spin, less speed or a nearer line to aim over."
    yield GRID
    yield AIMS_THERE
    yield parts.MODEL


SOURCES = ("level", "posted", "counts")
OTHER_SIDE = {"across": "line", "line": "across"}
DIRECTIONS = ("across", "line", "straight", "serve")
AngleSchema = wire.shape_of(margins.FittedAngle, "Angle")


class SpreadAnswerSchema(wire.Answer):
    """The spread used."""

    vars()["from"] = wire.a_word(SOURCES, "Source of the spread.", of="source")  # a word of Python's own
    balls = wire.a_number("Number of balls counted.", absent=True)
    vertical = wire.a_part(AngleSchema, "The vertical angle.", of="sides.0")
    sideways = wire.a_part(AngleSchema, "The sideways angle.", of="sides.1")


class ChancesSchema(wire.Answer):
    """The chance of each outcome."""

    vars()["in"] = wire.a_chance(
        "In; a ball that touches a line is in.", of=itemgetter(Outcome.IN)
    )  # a word of Python's own
    net = wire.a_chance("In the net.", of=itemgetter(Outcome.NET))
    long = wire.a_chance("Long, even if it is wide too.", of=itemgetter(Outcome.LONG))
    wide = wire.a_chance("Wide.", of=itemgetter(Outcome.WIDE))


class LandingSchema(wire.Answer):
    """The landing area of about two thirds of the balls that clear the net, as an ellipse."""

    x = wire.a_number("The ellipse's centre: metres to your right of the middle of the court.", of="centre.0")
    y = wire.a_number("The ellipse's centre: metres beyond the net.", of="centre.1")
    across_m = wire.a_number("Semi-axis across the court.", of="across")
    along_m = wire.a_number("Semi-axis along the court.", of="along")
    turned_deg = wire.a_number("Rotation anticlockwise as seen from above, degrees.", of="turned")


class OneShot(NamedTuple):
    """A shot and the name of its direction, if it has one."""

    direction: str | None
    margin: margins.Margin


class ShotSchema(wire.Answer):
    """One shot and its outcomes."""

    direction = wire.a_word(DIRECTIONS, "Across, down the line, straight from the middle, or a serve.")
    chances = wire.a_part(ChancesSchema, "The chance of each outcome.", of="margin.chances")
    elevation_deg = wire.a_number("Elevation of the aim, degrees.", of="margin.way.aim.elevation")
    net_height_m = wire.a_number("Height of the net where the ball passes.", of="margin.way.net_height")
    over_net_m = wire.a_number("Clearance over the net; negative if it hits the net.", of="margin.way.over_net")
    length_m = wire.a_number("Ground distance from the contact to the target.", of="margin.way.length")
    room_m = wire.a_number("Ground distance from the contact to where the path leaves the court.", of="margin.way.room")
    time_s = wire.a_number("Seconds until the ball lands.", of="margin.way.time")
    turn_deg = wire.a_number("Angle between its path and the incoming ball's path, degrees.", of="margin.way.turn")
    landing = wire.a_part(LandingSchema, "Landing area; absent if hardly any land.", absent=True, of="margin.landing")


class AimSchema(wire.Answer):
    """A spot to aim at."""

    x = wire.a_number("Metres to your right of the middle.", of="spot.0")
    y = wire.a_number("Metres beyond the net.", of="spot.1")
    from_side_m = wire.a_number("Metres inside the nearest sideline or side of the service box.", of="from_side")
    from_back_m = wire.a_number("Metres inside the baseline or service line.", of="from_back")
    chance = wire.a_chance("Chance that the ball is in.")
    depth = wire.a_number("Mean depth of the balls that are in, as a share of the way from the net to the back line.")


class AimsSchema(wire.Answer):
    """The best spots on the target's side."""

    vars()["in"] = wire.a_part(AimSchema, "The spot where the ball is most likely to be in.", of="0")
    blend = wire.a_part(AimSchema, "The best spot for both staying in and depth, weighted by depth_weight.", of="1")


class ShotMarginSchema(parts.CalculationSchema):
    """The risk of a shot, unrounded."""

    spread = wire.a_part(SpreadAnswerSchema, "The spread used.", absent=True, of=wire.itself)
    shot = wire.a_part(ShotSchema, "The shot itself.", absent=True, of=lambda one: OneShot(one.direction, one.meant))
    best = wire.a_part(AimsSchema, "Where to aim instead.", absent=True)
    other_side = wire.a_part(
        ShotSchema,
        "The same ball to the other side, equally far from the lines; absent if it cannot be played.",
        absent=True,
        of=lambda result: result.other and OneShot(OTHER_SIDE.get(result.direction), result.other),
    )
    comparison = wire.texts("How cross-court and down the line compare, in words.", absent=True, of=comparison)
    notes = wire.texts("What the results are based on, in plain sentences.", absent=True, of=_notes)
