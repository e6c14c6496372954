"""The shapes of the calculations' answers. Where the event permits none now, all but safety and notice is null."""

from typing import Any, get_args

from marshmallow import fields

from tacticapi.advice.suggestions import COURTS
from tacticapi.api.calculations.serves import SPOTS
from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import SafetySchema, a_chance, a_list, a_number, a_text, a_wing, a_word
from tacticapi.pricing.predictability import Kind
from tacticapi.scoring import SIDES


def a_count(says: str, *, null: bool = False) -> fields.Integer:
    """How many there are."""
    return fields.Integer(required=True, allow_none=null, metadata={"description": says})


def a_part(shape: type[Shape], says: str, *, null: bool = True) -> fields.Nested:
    """An object; null where nothing may be shown."""
    return fields.Nested(shape, required=True, allow_none=null, metadata={"description": says})


def a_fact(says: str, *, null: bool = False) -> fields.Boolean:
    """True or false."""
    return fields.Boolean(required=True, allow_none=null, metadata={"description": says})


def sides(says: str, *, null: bool = False) -> fields.List[Any]:
    """Players, none where it is nobody's."""
    return fields.List(a_word(SIDES, "A player."), required=True, allow_none=null, metadata={"description": says})


def some(shape: type[Shape], says: str) -> fields.List[Any]:
    """A list; null where nothing may be shown."""
    return fields.List(fields.Nested(shape), required=True, allow_none=True, metadata={"description": says})


class CalculationSchema(Shape):
    """What stands beside every calculation."""

    safety = a_list(SafetySchema, "Safety lines; none, as nothing that is posted here could call for one.")
    notice = a_list(fields.String(), "What the reader must be told.")


class IntervalSchema(Shape):
    """A chance with the 10th and 90th percentile of what is not known; all three alike where it is exact."""

    chance = a_chance("The chance, averaged over what is not known.")
    low = a_chance("Its 10th percentile.")
    high = a_chance("Its 90th percentile.")


class ByPartSchema(Shape):
    """A figure for each part of the match."""

    match = a_number("In the match.")
    set = a_number("In the set in progress.")
    game = a_number("In the game or tie-break in progress.")


class NextPointSchema(Shape):
    """What the score says about the next point."""

    server = a_word(SIDES, "Who serves; null where it is not known or the match is over.", null=True)
    courts = a_list(a_word(COURTS, "A court."), "The court served into; both where the receiver chooses.")
    tie_break = a_fact("Whether it belongs to a tie-break.")
    deciding_point = a_fact("Whether it decides the game for either player.")
    game_point = sides("Who wins the game or tie-break by winning it.")
    break_point = sides("The receiver, where winning it wins the game; null: the server is not known.", null=True)
    set_point = sides("Who wins the set by winning it.")
    match_point = sides("Who wins the match by winning it.")
    ends_change_now = a_fact("Whether players change ends before it.")
    ends_change_after_game = a_fact("Whether they change ends once this game is over.")
    ends_change_in_points = a_count("Points to the next change within a tie-break; null elsewhere.", null=True)


class WinChanceSchema(CalculationSchema):
    """Your chances from a score, unrounded."""

    match = a_part(IntervalSchema, "Your chance to win the match.")
    set = a_part(IntervalSchema, "Your chance to win the set in progress.")
    game = a_part(IntervalSchema, "Your chance to win the game or tie-break in progress.")
    importance = a_part(ByPartSchema, "Chance if the next point is won minus chance if it is lost.")
    if_won = a_part(ByPartSchema, "Your chances once the next point is won.")
    if_lost = a_part(ByPartSchema, "Your chances once the next point is lost.")
    score = a_text("The next point in one line.", null=True)
    next_point = a_part(NextPointSchema, "The same as facts.")


class PointImportanceSchema(ByPartSchema):
    """How much one point matters."""

    score = a_text('The score as "own-opponent", such as "30-40".')


class ImportanceTableSchema(CalculationSchema):
    """How much each point of a game or tie-break matters, unrounded."""

    server = a_word(SIDES, "Who serves the game, or first in the tie-break; null: the match is over.", null=True)
    tie_break = a_fact("Whether it is a tie-break.", null=True)
    items = some(PointImportanceSchema, "Each score before a point is played; in a tie-break those below its end.")


class TenthsSchema(Shape):
    """Serves out of ten."""

    wide = fields.Integer()
    body = fields.Integer()
    T = fields.Integer()


class SpotSchema(Shape):
    """One spot of the mix."""

    spot = a_word(SPOTS, "The spot.")
    wing = a_wing("The wing that it reaches; null for the body, and where the receiver's hand is not known.")
    share = a_chance("Its share of the serves.")
    low = a_chance("10th percentile of the share that would be best.")
    high = a_chance("90th percentile of that share.")
    wins = a_chance("Chance of the point on a serve there, against the leaning expected.")
    concedes = a_number("How much less that is than at the best spot.")
    if_always = a_number("What always serving there gives away to a receiver who has seen it.")


class PatternSchema(Shape):
    """Whether serves in order give their server away."""

    verdict = a_word(get_args(Kind), "too-few: no order of so few could show it; no-sign: which proves nothing.")
    spot = a_word(SPOTS, "The favourite, where there is one.", null=True)
    p_value = a_chance("Chance of something as striking without any pattern, corrected for the questions asked.")
    served = a_count("Serves looked at.")
    needed = a_count("Fewest serves that could show a pattern.")
    needed_for_switching = a_count("The same for changing spots; null where that is not asked.", null=True)


class PatternAtScoreSchema(PatternSchema):
    """Whether a favourite shows at one score."""

    score = a_text("The word for the score, as posted.")


class AfterSchema(Shape):
    """How often a spot followed itself."""

    spot = a_word(SPOTS, "The spot.")
    again = a_count("Serves there that came right after one there.")
    of = a_count("All serves that came right after one there.")
    share = a_number("The share of them; null where there are none.", null=True)
    by_chance = a_number("What that share is on average without any pattern.", null=True)
    p_value = a_chance("Chance of a share so far from it without any pattern.")


class CourtMixSchema(Shape):
    """The mix for one side of the court, unrounded."""

    tenths = a_part(TenthsSchema, "The mix in serves out of ten.", null=False)
    order = a_list(a_word(SPOTS, "A spot."), "An order for the next ten serves.")
    value = a_part(IntervalSchema, "Your chance of a point with this mix.", null=False)
    if_read = a_chance("That chance against a receiver who has read the mix.")
    lean_weight = a_chance("Weight on the receiver keeping to the leaning that was counted.")
    past_gives = a_number("What the serves so far give away to who has read them; null without serves.", null=True)
    spots = a_list(SpotSchema, "Each spot of the mix.")
    pattern = a_part(PatternSchema, "Whether the sequence gives you away; null without one.")
    by_score = a_list(PatternAtScoreSchema, "Whether a favourite shows at a score, for each that was posted.")
    after = a_list(AfterSchema, "How often each spot followed itself; none without a sequence.")
    notes = a_list(fields.String(), "What the mix rests on, in plain sentences.")


class CourtMixesSchema(Shape):
    """The mix by court."""

    deuce = a_part(CourtMixSchema, "The deuce court; null where it was not asked for.")
    ad = a_part(CourtMixSchema, "The ad court; null where it was not asked for.")


class ServeMixSchema(CalculationSchema):
    """Where to serve how often."""

    courts = a_part(CourtMixesSchema, "The mix by court.")
