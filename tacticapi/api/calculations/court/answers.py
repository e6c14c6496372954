"""The shapes of the answers about court and ball. Where the event permits none, all but safety and notice is null."""

from typing import Any

from marshmallow import fields

from tacticapi.api.calculations.schemas import CalculationSchema, a_count, a_fact, a_part, some
from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import a_chance, a_list, a_number, a_text, a_word
from tacticapi.court import PATTERNS

SOURCES = ("level", "posted", "counts")
DIRECTIONS = ("across", "line", "straight", "serve")


def sentences(says: str) -> fields.List[Any]:
    """Sentences; null where nothing may be shown."""
    return fields.List(fields.String(), required=True, allow_none=True, metadata={"description": says})


class DegreesSchema(Shape):
    """A spread in one direction."""

    degrees = a_number("Standard deviation, degrees.")
    low = a_number("Lower end of the 80 % interval; null where the counts leave it open.", null=True)
    high = a_number("Upper end of it; null where the counts leave it open.", null=True)


class SpreadAnswerSchema(Shape):
    """The spread that was taken."""

    vars()["from"] = a_word(SOURCES, "Where it is from.")  # a word of Python's own
    balls = a_number("Balls counted, where it is from counts.", null=True)
    vertical = a_part(DegreesSchema, "Up-down.", null=False)
    sideways = a_part(DegreesSchema, "Sideways.", null=False)


class ChancesSchema(Shape):
    """What becomes of the ball."""

    vars()["in"] = a_chance("In; a ball that touches a line is in.")  # a word of Python's own
    net = a_chance("In the net.")
    long = a_chance("Long, also where it is wide too.")
    wide = a_chance("Wide.")


class LandingSchema(Shape):
    """The ellipse that holds about two thirds of the balls which pass the net."""

    x = a_number("Its middle: metres to your right of the middle of the court.")
    y = a_number("Its middle: metres beyond the net.")
    across_m = a_number("Half axis across the court.")
    along_m = a_number("Half axis along the court.")
    turned_deg = a_number("Turned against the clock as seen from above.")


class ShotSchema(Shape):
    """What becomes of one shot."""

    direction = a_word(DIRECTIONS, "Across, down the line, straight from the middle, or a serve.")
    chances = a_part(ChancesSchema, "The chance of each outcome.", null=False)
    error = a_number("Largest standard error of these chances.")
    draws = a_count("Balls that were flown.")
    elevation_deg = a_number("Elevation of the ball as meant, degrees above the horizon.")
    net_height_m = a_number("Height of the net where it passes.")
    over_net_m = a_number("How far above the net it passes as meant; negative: it meets the net.")
    length_m = a_number("From the contact to the target over the ground.")
    room_m = a_number("From the contact to the line by which its way leaves the court.")
    time_s = a_number("Seconds until it lands.")
    turn_deg = a_number("Degrees between its way and the way back to where the ball came from.")
    landing = a_part(LandingSchema, "Where it lands; null where nearly all balls meet the net.")


class AimSchema(Shape):
    """A spot to aim at."""

    x = a_number("Metres to your right of the middle.")
    y = a_number("Metres beyond the net.")
    from_side_m = a_number("Metres inside the nearest sideline, or side of the service box.")
    from_back_m = a_number("Metres inside the baseline, or the service line.")
    chance = a_chance("Chance of in.")
    depth = a_number("Mean depth of the balls that are in, as a share of the way from the net to the back line.")


class AimsSchema(Shape):
    """The best spots on the target's side."""

    vars()["in"] = a_part(AimSchema, "The spot with the largest chance of in.", null=False)
    blend = a_part(AimSchema, "The spot that is best at in and depth together, by depth_weight.", null=False)


class ShotMarginSchema(CalculationSchema):
    """How risky a shot is, unrounded."""

    spread = a_part(SpreadAnswerSchema, "The spread that was taken.")
    shot = a_part(ShotSchema, "The shot that was asked for.")
    best = a_part(AimsSchema, "Where to aim instead.")
    other_side = a_part(ShotSchema, "The same ball to the other side, as far from the lines; null where there is none.")
    comparison = sentences("Across against the line, in words.")
    notes = sentences("What all this rests on, in plain sentences.")


class BallAtStandSchema(Shape):
    """The widest ball to one side, seen from a stand."""

    x = a_number("Where it passes the own line: metres to your right of the middle.")
    distance_m = a_number("Metres to it.")
    reach_s = a_number("Seconds until you can strike it.")
    ball_s = a_number("Seconds until it is there; null where they cannot play it at this speed.", null=True)


class OneStandSchema(Shape):
    """A place to stand."""

    x = a_number("Metres to your right of the middle.")
    y = a_number("Metres from the net, negative: your half.")
    line = a_part(BallAtStandSchema, "Their widest ball down the line.", null=False)
    cross = a_part(BallAtStandSchema, "Their widest ball across.", null=False)


class StandSchema(Shape):
    """Where to wait for their ball."""

    angle_deg = a_number("Angle between their two widest balls, degrees.")
    middle = a_part(OneStandSchema, "On the line that halves this angle.", null=False)
    covering_line = a_part(OneStandSchema, "With the ball down the line within reach without a step.", null=False)
    conceded_m = a_number("Metres further to the widest ball across when covering the line.")
    conceded_s = a_number("Seconds more to reach it.")


class SmashWaySchema(Shape):
    """One way of a smash."""

    way = a_word(("across", "other"), "Across their body, or the other way.")
    direction = a_word(("cross", "line"), "What that is from where they strike: cross-court or down the line.")
    chance = a_chance("How likely it goes there.")
    x = a_number("Where it passes your line: metres to your right of the middle.")
    time_s = a_number("Seconds until it is there.")
    within_m = a_number("Metres that you cover till then.")


class ReplySchema(Shape):
    """Where to wait for a smash."""

    x = a_number("Metres to your right of the middle.")
    y = a_number("Metres from the net, negative: your half.")
    covered = a_list(a_word(("across", "other"), "A way."), "The ways within reach.")
    chance = a_chance("How likely the smash goes to one of them.")
    ways = a_list(SmashWaySchema, "Both ways.")


class LobAnswerSchema(Shape):
    """The flattest lob that clears your opponent."""

    speed_mps = a_number("Speed off the strings, metres a second.")
    elevation_deg = a_number("Degrees above the horizon.")
    over_m = a_number("Metres above the racket as it passes.")
    time_s = a_number("Seconds until it lands.")
    smash_x = a_number("Where it is down at the racket's height again: metres to your right of the middle.")
    smash_y = a_number("The same: metres beyond the net.")
    smash_time_s = a_number("Seconds until then.")
    smash_missing_m = a_number("Metres by which they come too late to smash it; 0 or less: they can.")


class CourtPositionSchema(CalculationSchema):
    """Where to stand, unrounded. A part that was not asked for is null."""

    stand = a_part(StandSchema, "For their ball from the ground.")
    smash = a_part(ReplySchema, "For their smash, on your line.")
    smash_further_back = a_part(ReplySchema, "The shallowest stand behind the baseline that reaches most smashes.")
    lob = a_part(LobAnswerSchema, "Your lob.")
    after_lob = a_part(ReplySchema, "For the smash that the lob allows; null where it allows none.")
    notes = sentences("What was found, in plain sentences.")


class GapAnswerSchema(Shape):
    """The gap of this ball."""

    needed_m = a_number("Metres that they cover till the ball is there: a larger gap beats them.")
    open_m = a_number("Metres between them and the ball's way.")
    enough = a_fact("Whether the ball is past them.")
    ball_s = a_number("Seconds until the ball is where they could meet it.")
    reach_s = a_number("Seconds until they could strike it.")
    ball_x = a_number("Where they could meet it: metres to your right of the middle.")
    ball_y = a_number("The same: metres beyond the net.")


class PatternOpeningSchema(Shape):
    """When a pattern opens the court."""

    name = a_word([pattern.name for pattern in PATTERNS], "The pattern.")
    title = a_text("It in words.")
    balls = a_count("Balls that are struck, the last one into the gap; null where eight do not open it.", null=True)
    open_m = a_number("The gap of the last ball, or the largest found; null where none can be struck.", null=True)
    needed_m = a_number("The gap that it needs.", null=True)
    after_short = a_fact("Whether it takes a short reply first.")


class GapSchema(CalculationSchema):
    """How big a gap is enough, unrounded."""

    gap = a_part(GapAnswerSchema, "The gap of the ball that was asked for.")
    patterns = some(PatternOpeningSchema, "The usual patterns, the quickest first.")
    keep_going = a_text("How long to keep to the strong side.", null=True)
    notes = sentences("What was found, in plain sentences.")
