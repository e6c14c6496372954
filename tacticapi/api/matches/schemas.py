"""The shape of matches."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from marshmallow import fields
from marshmallow.validate import OneOf

from tacticapi.api.entries import LONGEST_ID
from tacticapi.api.fields import Text, Word
from tacticapi.api.paging import KeptPageQuery, Sought, page_schema
from tacticapi.api.shapes import RulebookShape, Shape
from tacticapi.api.situations.kept import KeptProfile
from tacticapi.api.situations.parts import ScoreSchema
from tacticapi.api.suggestions.schemas import a_word
from tacticapi.domain.terms import Moment
from tacticapi.scoring import SIDES

STATUSES = ("open", "ended")
_TIME = "a time with its time zone, such as 2026-05-01T09:00:00Z"

_ABSENT = "Absent: unknown, in a change as it was."


class Time(fields.AwareDateTime):
    """A time with its zone, as RFC 3339 writes it; kept in UTC."""

    def __init__(self, *, says: str) -> None:
        super().__init__(
            format="iso",
            allow_none=True,
            error_messages={"invalid": _TIME, "invalid_awareness": _TIME, "format": _TIME},
            metadata={"description": says},
        )

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> datetime:
        try:
            return super()._deserialize(value, attr, data, **kwargs).astimezone(UTC)
        except OverflowError:  # the first and the last hours of the calendar have no time in UTC
            raise self.make_error("invalid") from None


class MatchChangeSchema(RulebookShape):
    """What is to be changed. Each object replaces the one before."""

    context = KeptProfile("context", says=f"The day, the court, the event and the format. {_ABSENT}")
    own = KeptProfile("own", says=f"Facts for this match, above those of the player. {_ABSENT}")
    opponent = KeptProfile("opponent", says=f"Facts for this match, above those of the player. {_ABSENT}")
    first_server = Word(SIDES, says=f"Who serves the first point. {_ABSENT}")
    started_at = Time(says="When it starts. Absent: now, in a change as it was.")


class NewMatchSchema(MatchChangeSchema):
    """A new match. Facts may hold health items; they go when the match ends."""

    own_id = Text(LONGEST_ID, required=True, says="Id of the own player.")
    opponent_id = Text(LONGEST_ID, required=True, says="Id of the opponent.")


class MatchSchema(Shape):
    """A match as kept."""

    id = fields.UUID(required=True, metadata={"description": "Id of the match."})
    own_id = fields.UUID(required=True, allow_none=True, metadata={"description": "The own player; null where erased."})
    opponent_id = fields.UUID(
        required=True, allow_none=True, metadata={"description": "The opponent; null where erased."}
    )
    context = fields.Dict(required=True, metadata={"description": "As posted."})
    own = fields.Dict(required=True, metadata={"description": "As posted."})
    opponent = fields.Dict(required=True, metadata={"description": "As posted."})
    first_server = a_word(SIDES, "Who served the first point; null: unknown.", null=True)
    status = a_word(STATUSES, "Whether it goes on.")
    started_at = fields.AwareDateTime(required=True, metadata={"description": "When it started."})
    ended_at = fields.AwareDateTime(required=True, allow_none=True, metadata={"description": "When it ended."})
    version = fields.Integer(required=True, metadata={"description": "Counts its own changes; also the ETag."})
    created_at = fields.AwareDateTime(required=True, metadata={"description": "When it was made."})


class MatchScoreSchema(Shape):
    """The score that the kept points make."""

    score = fields.Nested(
        ScoreSchema, required=True, allow_none=True, metadata={"description": "Null: nothing was entered yet."}
    )
    moment = a_word(Moment, "The moment that the match is at by these points, for which advice may be asked.")
    revision = fields.Integer(
        required=True, metadata={"description": "Counts everything that can change advice, entries included."}
    )


class MatchesQuery(KeptPageQuery):
    """Which matches are wanted."""

    own_id = Sought("Only matches of this own player.")
    opponent_id = Sought("Only matches against this opponent.")
    status = fields.String(
        validate=OneOf(STATUSES, error=f"one of {', '.join(STATUSES)}"), metadata={"description": "Absent: both."}
    )


MatchPage = page_schema(MatchSchema)
