"""The shape of a club."""

from marshmallow import fields

from tacticapi.api.fields import Text, Whole
from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import a_text
from tacticapi.club.clubs import MAX_KEEP_DAYS
from tacticapi.club.services import MAX_LABEL

_KEEP = "Days that a match is kept after its end; null keeps it for good."
_KEEP_UNDER_18 = "The same if anyone in the match was under 18, or of unknown age."


class ClubChangeSchema(Shape):
    """What is to be changed. What is absent stays; null days keep for good."""

    label = Text(MAX_LABEL, says="What the club is called.")
    keep_days = Whole(1, MAX_KEEP_DAYS, says=_KEEP)
    keep_days_under_18 = Whole(1, MAX_KEEP_DAYS, says=_KEEP_UNDER_18)


class ClubSchema(Shape):
    """A club."""

    id = fields.UUID(required=True, metadata={"description": "Id of the club."})
    label = a_text("What it is called.")
    keep_days = fields.Integer(required=True, allow_none=True, metadata={"description": _KEEP})
    keep_days_under_18 = fields.Integer(required=True, allow_none=True, metadata={"description": _KEEP_UNDER_18})
    version = fields.Integer(required=True, metadata={"description": "Counts changes; also the ETag."})
    created_at = fields.AwareDateTime(required=True, metadata={"description": "When it was made."})
