"""The shape of advice on a kept match."""

from marshmallow import fields
from marshmallow.validate import OneOf, Range

from tacticapi.api.paging import Digits, page_schema
from tacticapi.api.shapes import Shape
from tacticapi.api.situations.schemas import LONGEST_MATCH_MIN, MOST_SUGGESTIONS
from tacticapi.api.suggestions.schemas import AdviceSchema, RulebookRefSchema, a_word
from tacticapi.domain.terms import Moment

_MOMENT = f"one of {', '.join(Moment)}"
_LIMIT = f"a whole number from 1 to {MOST_SUGGESTIONS}"
_MINUTES = f"a whole number from 0 to {LONGEST_MATCH_MIN}"


class LiveQuery(Shape):
    """For which moment advice is wanted."""

    moment = fields.String(
        required=True,
        validate=OneOf([moment.value for moment in Moment], error=_MOMENT),
        error_messages=dict.fromkeys(("required", "null", "invalid"), _MOMENT),
        metadata={"description": "When advice is asked for; permissions depend on it."},
    )
    limit = Digits(
        validate=Range(1, MOST_SUGGESTIONS, error=_LIMIT),
        error_messages={"invalid": _LIMIT},
        metadata={"description": "Most suggestions wanted. Absent: as many as the moment allows."},
    )
    minutes_left = Digits(
        validate=Range(0, LONGEST_MATCH_MIN, error=_MINUTES),
        error_messages={"invalid": _MINUTES},
        metadata={"description": "Minutes of play left, where time is limited. Absent: not limited."},
    )


class OfMatchSchema(Shape):
    """Which match and state of it an advice is for."""

    match_id = fields.UUID(required=True, metadata={"description": "Id of the match."})
    revision = fields.Integer(required=True, metadata={"description": "The match's revision that it was given for."})
    health_removed = fields.Boolean(
        required=True, metadata={"description": "Whether health items were taken out when the match ended."}
    )


class LiveAdviceSchema(AdviceSchema, OfMatchSchema):
    """Advice on a kept match."""


class GivenAdviceSchema(LiveAdviceSchema):
    """Advice as it was given, with all that it rested on."""

    given_at = fields.AwareDateTime(required=True, metadata={"description": "When it was given."})
    situation = fields.Dict(
        required=True, allow_none=True, metadata={"description": "What it was given on; null where withheld."}
    )
    fired = fields.List(
        fields.Dict(),
        required=True,
        metadata={"description": "Every rule that fired, with the facts that it matched; empty where withheld."},
    )


class AdviceLineSchema(OfMatchSchema):
    """That advice was given; what it said stands at its own address."""

    advice_id = fields.UUID(required=True, metadata={"description": "Id of the advice."})
    moment = a_word(Moment, "The moment asked about.")
    rulebook = fields.Nested(RulebookRefSchema, required=True)
    given_at = fields.AwareDateTime(required=True, metadata={"description": "When it was given."})


AdviceLinePage = page_schema(AdviceLineSchema)
