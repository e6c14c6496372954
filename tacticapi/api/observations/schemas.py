"""The shape of observations of a match."""

from typing import Any

from marshmallow import fields

from tacticapi.api.entries import EntrySchema, LinksSchema, ReceiptSchema, WithdrawalSchema, as_posted
from tacticapi.api.paging import Digits, KeptPageQuery, Sought, page_schema
from tacticapi.api.problems_schema import FaultSchema
from tacticapi.api.shapes import Shape
from tacticapi.api.situations.observations import MOST_OBSERVATIONS, ObservationSchema
from tacticapi.api.suggestions.schemas import a_list

MOST_LINES = 2_000
JSON_LINES = ("application/jsonl", "application/x-ndjson")


class NewObservationSchema(ObservationSchema, LinksSchema):
    """One thing seen; with `supersedes` it stands in the place of another entry."""


class ReceiptsSchema(Shape):
    """What was added, in the order of the list."""

    items = a_list(ReceiptSchema, "One receipt an observation.")


class LineSchema(Shape):
    """What became of one line: a receipt, or its faults."""

    line = fields.Integer(required=True, metadata={"description": "Number of the line, from 1."})
    id = fields.UUID(metadata={"description": "Id of the entry; absent where the line was refused."})
    sequence = fields.Integer(metadata={"description": "Its place in the match."})
    recorded_at = fields.AwareDateTime(metadata={"description": "When it was added."})
    errors = fields.List(
        fields.Nested(FaultSchema), metadata={"description": "Why the line was refused; absent where it was added."}
    )


class LinesSchema(Shape):
    """What became of every line that was not blank."""

    items = a_list(LineSchema, "In the order of the lines.")
    added = fields.Integer(required=True, metadata={"description": "Lines that were added."})
    refused = fields.Integer(required=True, metadata={"description": "Lines that were refused."})


class KeptObservationSchema(EntrySchema):
    """An observation as kept."""

    observation = as_posted("What was seen, as posted")


class ObservationsQuery(KeptPageQuery):
    """Which observations are wanted."""

    what = Sought("Only this id of the vocabulary.")
    set = Digits(metadata={"description": "Only this set. Absent: all."})
    game = Digits(metadata={"description": "Only this game of a set. Absent: all."})


KeptObservationPage = page_schema(KeptObservationSchema)
_LIST = {"type": "array", "items": ObservationSchema, "maxItems": MOST_OBSERVATIONS}
_LINES = {
    "type": "string",
    "description": f"At most {MOST_LINES:,} lines, each the JSON of one observation; blank lines are skipped.",
}
REQUEST_BODY: dict[str, Any] = {
    "required": True,
    "content": {
        "application/json": {"schema": {"oneOf": [NewObservationSchema, WithdrawalSchema, _LIST]}},
        **{media_type: {"schema": _LINES} for media_type in JSON_LINES},
    },
}
ADDED: dict[str, Any] = {"oneOf": [ReceiptSchema, ReceiptsSchema]}
