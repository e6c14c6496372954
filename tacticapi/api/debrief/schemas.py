"""The shape of a debrief."""

from marshmallow import fields

from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import (
    RulebookRefSchema,
    a_chance,
    a_list,
    a_number,
    a_text,
    a_wing,
    a_word,
)
from tacticapi.club.advising import OUTCOMES
from tacticapi.scoring import SIDES

_SCORE = "The score: sets, games, points, server."


def _whole(says: str) -> fields.Integer:
    return fields.Integer(required=True, metadata={"description": says})


class StoryPointSchema(Shape):
    """One entry of the score, and what it did to the chance of the match."""

    number = _whole("Its place in the match, from 1.")
    set = _whole("The set that it belongs to, from 1.")
    game = _whole("The game of the set, from 1.")
    score = fields.Dict(required=True, metadata={"description": f"{_SCORE} Before the point."})
    server = a_word(SIDES, "Who served; null where it is not known.", null=True)
    winner = a_word(SIDES, "Who won it; null where the score was set by hand.", null=True)
    importance = a_chance("What it was worth: the chance to win the match if it is won, less that if it is lost.")
    chance_before = a_chance("The chance to win the match before it.")
    chance = a_chance("The same after it.")


class ShareSchema(Shape):
    """A share of few tries with its interval."""

    won = _whole("Points won.")
    of = _whole("Points tried.")
    share = a_number("won / of; null without tries.", null=True)
    low = a_number("Lower bound of the 80 % interval; null without tries.", null=True)
    high = a_number("Upper bound of it; null without tries.", null=True)


class TacticLineSchema(Shape):
    """What became of one tactic."""

    tactic = a_text("Id of the tactic.")
    title = a_text("Its title.")
    suggested = _whole("Advice that showed it.")
    first = _whole("Advice that showed it first.")
    used = _whole("Feedback that it was used.")
    not_used = _whole("Feedback that it was not.")
    reasons = a_list(fields.String(), "Why it was not used, as posted.")
    outcomes = a_list(a_word(OUTCOMES, "An outcome."), "How it turned out, as posted.")
    tries = fields.Nested(ShareSchema, required=True)
    worse = a_number("The chance that it does worse than going without it; null where it was not tried.", null=True)
    enough = fields.Boolean(required=True, metadata={"description": "Whether so many tries can tell."})


class BeliefMoveSchema(Shape):
    """A belief before the match and after it."""

    trait = a_text("Id of the trait.")
    wing = a_wing()
    title = a_text("Title of the trait.")
    start = a_chance("How likely before the match.")
    end = a_chance("How likely after it.")
    because = a_list(fields.String(), "What moved it in counts, strongest first.")


class BeginWithSchema(Shape):
    """What to begin with next time."""

    tactic = a_text("Id of the tactic.")
    title = a_text("Its title.")
    say = a_text("What to say on court.")
    because = a_list(fields.String(), "Why, in counts.")
    stop_when = a_text("When to look again.")


class DebriefSchema(Shape):
    """What a finished match leaves to learn."""

    match_id = fields.UUID(required=True, metadata={"description": "Id of the match."})
    rulebook = fields.Nested(RulebookRefSchema, required=True)
    own = a_text("Label of the own player; null where erased.", null=True)
    opponent = a_text("Label of the opponent; null where erased.", null=True)
    started_at = fields.AwareDateTime(required=True, metadata={"description": "When it started."})
    ended_at = fields.AwareDateTime(required=True, allow_none=True, metadata={"description": "When it was ended."})
    score = fields.Dict(
        required=True, allow_none=True, metadata={"description": f"{_SCORE} The last one; null where none was kept."}
    )
    winner = a_word(SIDES, "Who has won by that score; null where it is not decided.", null=True)
    story = a_list(StoryPointSchema, "Every entry of the score, in order.")
    important = a_list(StoryPointSchema, "The points that were worth most, the most important first.")
    tactics = a_list(TacticLineSchema, "Every tactic that was suggested or tried, the most tried first.")
    beliefs = a_list(BeliefMoveSchema, "Every belief but those about health, in the order of /v1/traits.")
    surprises = a_list(BeliefMoveSchema, "The beliefs that moved most.")
    begin_with = a_list(BeginWithSchema, "What to begin with against this opponent next time.")
    notice = a_list(fields.String(), "What the reader must be told.")
