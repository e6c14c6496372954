"""Define win chance and importance: questions about a score, and the model's results."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, ClassVar

from marshmallow import ValidationError, fields, post_load, validates_schema

from tacticapi.advice.words import score_line
from tacticapi.api.calculations.parts import CalculationSchema, OccasionSchema, Question
from tacticapi.api.http import fields as wire
from tacticapi.api.situations import PointsPlayedSchema, Score, messages, score_messages
from tacticapi.pricing.baseline import posteriors
from tacticapi.scoring import score as scoring
from tacticapi.scoring.formats import SIDES, Format, ScoreError
from tacticapi.scoring.match import (
    Chances,
    Importance,
    MatchModel,
    expected,
    expected_importance,
    importance_table,
    percentiles,
)
from tacticapi.scoring.reading import read_score

LEVELS = ("much-weaker", "weaker", "level", "stronger", "much-stronger")
ONE_OF_TWO = "exactly one of point_chances and points_played"
PRIOR = (
    "Your share of points won starts at a model default by level, worth {points} points on serve and on return; "
    "the points played update it."
)


def notices(query: Question, defaults: Mapping[str, Any]) -> tuple[str, ...]:
    """Return notices on what the chances are based on; none if point chances were posted."""
    return () if query.point_chances else (PRIOR.format(points=defaults["baseline"]["points"]),)


class MatchFormat(fields.Field[Format]):
    """A match format."""

    def __init__(self) -> None:
        reference = {"anyOf": [{"$ref": "#/components/schemas/Format"}, {"type": "null"}]}
        says = "The format. Default: best of three tie-break sets."
        super().__init__(allow_none=True, metadata={**reference, "description": says})

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Format:
        try:
            return Format.from_wire(value)
        except ScoreError as refused:
            raise ValidationError(messages(refused.faults)) from None


class PointChancesSchema(wire.Shape):
    """Each server's chance of winning a point. Your chance on return is 1 - opponent_serve."""

    own_serve = wire.Real(0, 1, required=True, says="Your chance of winning a point on your serve.")
    opponent_serve = wire.Real(0, 1, required=True, says="Your opponent's chance of winning a point on their serve.")

    @post_load
    def chances(self, data: dict[str, Any], **kwargs: Any) -> tuple[float, float]:
        """Return your chances on serve and on return."""
        return data["own_serve"], 1.0 - data["opponent_serve"]


class WinChanceQuestionSchema(OccasionSchema):
    """A score, and exactly one of point_chances and points_played."""

    served: ClassVar[bool] = False  # whether a score must name its server

    format = MatchFormat()
    score = Score(says="Pairs are [own, opponent]. Default: the start of the match.")
    point_chances = wire.part(PointChancesSchema, says="Exact point chances. Default: points_played.")
    points_played = wire.part(PointsPlayedSchema, says="Your points won; {} keeps the prior. Default: point_chances.")
    level_gap = wire.Word(LEVELS, says="Opponent's expected level; sets the prior for points_played. Default: level.")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def possible_score(self, data: Mapping[str, Any], original: Any, **kwargs: Any) -> None:
        """Refuse a score that no match in this format can reach."""
        posted = original if isinstance(original, dict) else {}
        if found := score_messages(posted.get("format"), posted.get("score"), served=self.served):
            raise ValidationError({"score": found})

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def one_source_of_chances(self, data: Mapping[str, Any], original: Any, **kwargs: Any) -> None:
        """Refuse zero or two sources of point chances, and a prior that would not be used."""
        if not isinstance(original, dict):
            return
        exact, played = (original.get(name) is not None for name in ("point_chances", "points_played"))
        if exact == played:
            raise ValidationError(ONE_OF_TWO)
        if exact and original.get("level_gap") is not None:
            raise ValidationError({"level_gap": ["no level_gap: point_chances need no prior"]})

    def complete(self, query: Question) -> None:
        """Add the match's state."""
        query.state = read_score(query.format or Format(), query.score)


class ImportanceQuestionSchema(WinChanceQuestionSchema):
    """A win chance question whose score must name its server. Without a score, you serve the first game."""

    served = True

    score = Score(says="Pairs are [own, opponent]; `server` is required. Default: the first game, with you serving.")

    def complete(self, query: Question) -> None:
        """Add the match's state, with a known server."""
        super().complete(query)
        if query.state.server is None and query.state.winner is None:
            query.state = replace(query.state, server="own")


def score_sentence(state: scoring.State, worth: float) -> str:
    """Return a line on the next point, with the next change of ends; `worth` is the point's importance, 0 to 1."""
    ends = _next_change_of_ends(state)
    line = score_line(state, scoring.next_point(state), worth)
    return f"{line}; {ends}" if ends else line


def _next_change_of_ends(state: scoring.State) -> str | None:
    if state.winner is not None:
        return None
    if scoring.is_change_of_ends(state):
        return "change ends now"
    if points := scoring.points_to_end_change(state):
        return f"change ends in {points} point{'' if points == 1 else 's'}"
    if scoring.ends_change_after_game(state):
        return "change ends after this game"
    last_tie_break = state.in_tie_break and len(state.sets) == state.format.sets - 1
    return None if last_tie_break else "change ends after the next game"


def win_chance(query: Question, defaults: Mapping[str, Any]) -> dict[str, Any]:
    """Return the chances, unrounded."""
    mean, low, high = _chances(query, defaults)
    worth = {"game": mean.game.importance, "set": mean.set.importance, "match": mean.match.importance}
    return {
        "match": IntervalSchema.written((mean.match.now, low.match.now, high.match.now)),
        "set": IntervalSchema.written((mean.set.now, low.set.now, high.set.now)),
        "game": IntervalSchema.written((mean.game.now, low.game.now, high.game.now)),
        "importance": worth,
        "if_won": {"match": mean.match.won, "set": mean.set.won, "game": mean.game.won},
        "if_lost": {"match": mean.match.lost, "set": mean.set.lost, "game": mean.game.lost},
        "score": score_sentence(query.state, float(worth["match"])),
        "next_point": NextPointSchema.written(
            scoring.next_point(query.state),
            ends_change_now=scoring.is_change_of_ends(query.state),
            ends_change_after_game=scoring.ends_change_after_game(query.state),
            ends_change_in_points=scoring.points_to_end_change(query.state),
        ),
    }


def _chances(query: Question, defaults: Mapping[str, Any]) -> tuple[Chances, Chances, Chances]:
    """Return each chance's mean and 10th and 90th percentiles; they are equal if the chances are exact."""
    fmt, state = query.state.format, query.state
    if query.point_chances is not None or state.winner is not None:
        exact = MatchModel(fmt, *(query.point_chances or (0.5, 0.5))).at(state).map(_within_0_and_1)
        return exact, exact, exact
    serve, ret = _believed(query, defaults)
    low, high = percentiles(fmt, state, serve, ret)
    return expected(fmt, state, serve, ret).map(_within_0_and_1), low, high


def _within_0_and_1(chance: Any) -> float:
    """Return a chance clipped to [0, 1], because rounding may take it outside."""
    return min(1.0, max(0.0, float(chance)))


def importance(query: Question, defaults: Mapping[str, Any]) -> dict[str, Any]:
    """Return the importance of each point, unrounded; a decided match has none."""
    return {
        "server": query.state.first_server_of_game,
        "tie_break": query.state.in_tie_break,
        "items": [
            {"score": score, "game": float(of.game), "set": float(of.set), "match": float(of.match)}
            for score, of in _table(query, defaults).items()
        ],
    }


def _table(query: Question, defaults: Mapping[str, Any]) -> dict[str, Importance]:
    fmt, state = query.state.format, query.state
    if query.point_chances is not None:
        return importance_table(fmt, state, *query.point_chances)
    return expected_importance(fmt, state, *_believed(query, defaults))


def _believed(query: Question, defaults: Mapping[str, Any]) -> tuple[tuple[float, float], tuple[float, float]]:
    base = posteriors(query.level_gap, query.points_played, defaults)
    return (base.serve.a, base.serve.b), (base.return_.a, base.return_.b)


class IntervalSchema(wire.Answer):
    """A chance with its 10th and 90th percentiles; all three are equal if it is exact."""

    chance = wire.a_chance("The chance, averaged over the uncertainty.", of="0")
    low = wire.a_chance("The 10th percentile.", of="1")
    high = wire.a_chance("The 90th percentile.", of="2")


class ByPartSchema(wire.Answer):
    """A figure for each part of the match."""

    match = wire.a_number("For the match.")
    set = wire.a_number("For the set in progress.")
    game = wire.a_number("For the game or tie-break in progress.")


NextPointSchema = wire.shape_of(
    scoring.NextPoint,
    order="server courts tie_break",
    tie_break=wire.a_fact("Whether the point belongs to a tie-break.", of="in_tie_break"),
    ends_change_now=wire.a_fact("Whether players change ends before the point."),
    ends_change_after_game=wire.a_fact("Whether they change ends once this game is over."),
    ends_change_in_points=wire.a_count("Points until ends change in a tie-break; otherwise absent.", absent=True),
)


class WinChanceSchema(CalculationSchema):
    """Your chances from a score, unrounded."""

    match = wire.a_part(IntervalSchema, "Your chance of winning the match.", absent=True)
    set = wire.a_part(IntervalSchema, "Your chance of winning the set in progress.", absent=True)
    game = wire.a_part(IntervalSchema, "Your chance of winning the game or tie-break in progress.", absent=True)
    importance = wire.a_part(ByPartSchema, "Chance if you win the next point, minus chance if you lose.", absent=True)
    if_won = wire.a_part(ByPartSchema, "Your chances if you win the next point.", absent=True)
    if_lost = wire.a_part(ByPartSchema, "Your chances if you lose the next point.", absent=True)
    score = wire.a_text("The next point in one line.", absent=True)
    next_point = wire.a_part(NextPointSchema, "The next point as separate facts.", absent=True)


class PointImportanceSchema(ByPartSchema):
    """The importance of one point."""

    score = wire.a_text('The score as "own-opponent", such as "30-40".')


class ImportanceTableSchema(CalculationSchema):
    """The importance of each point in a game or tie-break, unrounded."""

    server = wire.a_word(SIDES, "Who serves the game, or first in the tie-break; absent after the match.", absent=True)
    tie_break = wire.a_fact("Whether the game is a tie-break.", absent=True)
    items = wire.a_list(PointImportanceSchema, "Every score in a game, or in a tie-break before it ends.", absent=True)
