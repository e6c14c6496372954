"""The body of a calculation on a score: format, score, and how likely points are won."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from marshmallow import ValidationError, fields, post_load, validates_schema

from tacticapi.api.calculations.occasion import Occasion, OccasionSchema, occasion
from tacticapi.api.fields import Real, Word, part
from tacticapi.api.shapes import Shape
from tacticapi.api.situations.messages import messages
from tacticapi.api.situations.parts import PointsPlayedSchema, Score, points_played, score_messages
from tacticapi.domain.situation import PointsPlayed
from tacticapi.pricing.baseline import Baseline, posteriors
from tacticapi.scoring import SIDES, Format, ScoreError, State, read_score

LEVELS = ("much-weaker", "weaker", "level", "stronger", "much-stronger")
ONE_OF_TWO = "exactly one of point_chances and points_played"
PRIOR = (
    "Your points won start from a model default by level, worth {points} points on serve and as many on return; "
    "the points played move it."
)


@dataclass(frozen=True, slots=True)
class Points:
    """A score and either exact point chances or what points played say about them.

    `exact` is own's chance of a point on own serve and on the opponent's serve (return), each 0 to 1.
    """

    occasion: Occasion
    state: State
    exact: tuple[float, float] | None = None
    played: PointsPlayed | None = None
    level_gap: str | None = None

    def believed(self, defaults: Mapping[str, Any]) -> Baseline:
        """The posteriors of both point chances where they are not exact."""
        return posteriors(self.level_gap, self.played, defaults)

    def told(self, defaults: Mapping[str, Any]) -> tuple[str, ...]:
        """What must be said about where the point chances come from."""
        return () if self.exact else (PRIOR.format(points=defaults["baseline"]["points"]),)


class MatchFormat(fields.Field[Format]):
    """A match format."""

    def __init__(self) -> None:
        reference = {"anyOf": [{"$ref": "#/components/schemas/Format"}, {"type": "null"}]}
        says = "The format. Absent: best of three tie-break sets."
        super().__init__(allow_none=True, metadata={**reference, "description": says})

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Format:
        try:
            return Format.from_wire(value)
        except ScoreError as refused:
            raise ValidationError(messages(refused.faults)) from None


class PointChancesSchema(Shape):
    """How likely each server wins a point. Your chance on return is 1 - opponent_serve."""

    own_serve = Real(0, 1, required=True, says="Your chance of a point on your serve.")
    opponent_serve = Real(0, 1, required=True, says="Your opponent's chance of a point on their serve.")


class WinChanceQuestionSchema(OccasionSchema):
    """A score, and exactly one of point_chances and points_played. Loads into Points."""

    format = MatchFormat()
    score = Score(says="Pairs are [own, opponent]. Absent: the start of the match.")
    point_chances = part(PointChancesSchema, says="Exact point chances. Absent: points_played.")
    points_played = part(
        PointsPlayedSchema,
        says="Own points won out of points played; {} leaves the prior alone. Absent: point_chances.",
    )
    level_gap = Word(LEVELS, says="Expected level of your opponent, for the prior of points_played. Absent: level.")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def possible_score(self, data: Mapping[str, Any], original: Any, **kwargs: Any) -> None:
        """Refuse a score that no match of this format can reach."""
        posted = original if isinstance(original, dict) else {}
        found = self.score_faults(posted.get("format"), posted.get("score"))
        if found:
            raise ValidationError({"score": found})

    def score_faults(self, posted_format: Any, posted_score: Any) -> dict[Any, Any]:
        """What is wrong with a posted score."""
        return score_messages(posted_format, posted_score)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def one_source_of_chances(self, data: Mapping[str, Any], original: Any, **kwargs: Any) -> None:
        """Refuse none or two sources of point chances, and a prior where none is used."""
        if not isinstance(original, dict):
            return
        exact, played = (original.get(name) is not None for name in ("point_chances", "points_played"))
        if exact == played:
            raise ValidationError(ONE_OF_TWO)
        if exact and original.get("level_gap") is not None:
            raise ValidationError({"level_gap": ["nothing beside point_chances, which need no prior"]})

    @post_load
    def points(self, data: dict[str, Any], **kwargs: Any) -> Points:
        """The body as it is calculated on."""
        exact, played = data.get("point_chances"), data.get("points_played")
        return Points(
            occasion(data),
            read_score(data.get("format") or Format(), data.get("score")),
            (exact["own_serve"], 1.0 - exact["opponent_serve"]) if exact else None,
            points_played(played) if played is not None else None,
            data.get("level_gap"),
        )


class ImportanceQuestionSchema(WinChanceQuestionSchema):
    """As for the win chance, but a score must name its server. Without a score: the first game, you serve."""

    score = Score(says="Pairs are [own, opponent]; `server` is needed. Absent: the first game of the match, you serve.")

    def score_faults(self, posted_format: Any, posted_score: Any) -> dict[Any, Any]:
        """What is wrong with a posted score, a missing server included."""
        found = score_messages(posted_format, posted_score)
        if found or posted_score is None or not _server_missing(posted_format, posted_score):
            return found
        return {"server": [f"{' or '.join(SIDES)}: what the points of a game are worth depends on who serves"]}

    @post_load
    def points(self, data: dict[str, Any], **kwargs: Any) -> Points:
        """The body as it is calculated on, its server known."""
        asked: Points = super().points(data)
        if asked.state.server is None and asked.state.winner is None:
            return replace(asked, state=replace(asked.state, server="own"))
        return asked


def _server_missing(posted_format: Any, posted_score: Any) -> bool:
    """Whether points are still to be played and nobody knows who serves; a faulty format is told elsewhere."""
    try:
        state = read_score(Format.from_wire(posted_format), posted_score)
    except ScoreError:
        return False
    return state.winner is None and state.server is None
