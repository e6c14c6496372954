"""The smaller objects of a situation: score, points played, own errors, tries, the advice before."""

from collections.abc import Mapping
from typing import Any, ClassVar

from marshmallow import ValidationError, fields, validates_schema

from tacticapi.api.fields import Items, Real, Table, Text, Whole, Word, part
from tacticapi.api.shapes import Shape
from tacticapi.api.situations.messages import messages
from tacticapi.domain.situation import MOST_TRIED, OwnErrors, PointsPlayed, Previous
from tacticapi.scoring import SIDES, Format, ScoreError, read_score
from tacticapi.scoring.reading import LARGEST_COUNT

MOST_POINTS = 10_000
LONGEST_ID = 100
MOST_BELIEFS = 500


class PartOfWholeSchema(Shape):
    """Two numbers of which the first cannot exceed the second."""

    part_name: ClassVar[str] = "won"
    whole_name: ClassVar[str] = "of"

    @validates_schema
    def part_within_whole(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse a part beyond its whole."""
        if data[self.part_name] > data[self.whole_name]:
            raise ValidationError({self.part_name: [f"at most the {data[self.whole_name]} in {self.whole_name}"]})


class WonOfSchema(PartOfWholeSchema):
    """Points won out of points played."""

    won = Whole(0, MOST_POINTS, required=True, says="Points won.")
    of = Whole(0, MOST_POINTS, required=True, says="Points played.")


class PointsPlayedSchema(Shape):
    """Own points, on own serve and on return."""

    on_serve = part(WonOfSchema, says="On own serve. Absent: not counted.")
    on_return = part(WonOfSchema, says="On return. Absent: not counted.")


class OwnErrorsSchema(PartOfWholeSchema):
    """Own unforced errors among the points lost."""

    part_name = "unforced"

    unforced = Whole(0, MOST_POINTS, required=True, says="Unforced errors among them.")
    of = Whole(0, MOST_POINTS, required=True, says="Points lost.")


PLAYED = "Points in which it was played as meant; own double faults and easy misses are none of them."


class TriesSchema(PartOfWholeSchema):
    """A tactic tried as meant."""

    whole_name = "tried"

    tactic = Text(LONGEST_ID, required=True, says="Id of the tactic; a retired id counts for what replaced it.")
    tried = Whole(0, MOST_TRIED, required=True, says=PLAYED)
    won = Whole(0, MOST_TRIED, required=True, says="Points won of them.")


class PreviousSchema(Shape):
    """The advice before this one, as the client kept it."""

    advice_id = Text(LONGEST_ID, says="Its id. Absent: unknown.")
    first = Text(LONGEST_ID, says="The tactic that stood first in it. Absent: none held its place.")
    beliefs = Table(
        Real(0, 1, required=True),
        MOST_BELIEFS,
        says="Probability by trait; a trait of a wing is written trait/wing. Absent: none to compare with.",
    )


def _pair(inner: Any, *, says: str | None = None) -> Items:
    """One for each side; inside a list it cannot be null."""
    return Items(inner, 2, least=2, required=says is None, says=says)


class ScoreSchema(Shape):
    """The score. What is absent or null is nil, an absent server unknown."""

    sets = Items(_pair(Whole(0, LARGEST_COUNT, required=True)), 5, says="Games of each finished set. Absent: none.")
    games = _pair(Whole(0, LARGEST_COUNT, required=True), says="Games of the set in progress. Absent: [0, 0].")
    points = _pair(
        Text(3, required=True, pattern="^([0-9]+|AD)$"),
        says='"0" "15" "30" "40" "AD", in a tie-break plain numbers as text. Absent: ["0", "0"].',
    )
    server = Word(SIDES, says="Who serves the next point. Absent: unknown.")


class Score(fields.Nested):
    """A score as posted; whether a match of the format can reach it is for the situation to say."""

    def __init__(self, *, says: str) -> None:
        super().__init__(ScoreSchema, allow_none=True, metadata={"description": says})

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, *args: Any, **kwargs: Any
    ) -> Any:
        return value


def score_messages(posted_format: Any, posted_score: Any) -> dict[Any, Any]:
    """What no match of this format can reach in a score; nothing if the format is faulty, which is told elsewhere."""
    try:
        fmt = Format.from_wire(posted_format)
    except ScoreError:
        return {}
    try:
        read_score(fmt, posted_score)
    except ScoreError as refused:
        return messages(refused.faults)
    return {}


def points_played(data: Mapping[str, Any]) -> PointsPlayed:
    """Own points by who served; what was not counted is nil."""
    serve, back = data.get("on_serve") or {}, data.get("on_return") or {}
    return PointsPlayed(serve.get("won", 0), serve.get("of", 0), back.get("won", 0), back.get("of", 0))


def own_errors(data: Mapping[str, Any]) -> OwnErrors:
    """Own errors among the points lost."""
    return OwnErrors(data["unforced"], data["of"])


def previous(data: Mapping[str, Any]) -> Previous:
    """The advice before."""
    return Previous(data.get("advice_id"), data.get("first"), data.get("beliefs") or {})
