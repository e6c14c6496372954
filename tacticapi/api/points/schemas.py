"""The shape of points."""

from marshmallow import fields

from tacticapi.api.entries import EntrySchema, LinksSchema, ReceiptSchema, as_posted
from tacticapi.api.fields import Word, Yes
from tacticapi.api.paging import page_schema
from tacticapi.api.situations.parts import Score, ScoreSchema
from tacticapi.api.suggestions.schemas import a_word
from tacticapi.scoring import SIDES


class NewPointSchema(LinksSchema):
    """Who won a point, or the score set by hand, or a withdrawal: one of the three."""

    winner = Word(SIDES, says="Who won the point. Absent: the score is set, or an entry withdrawn.")
    own_error = Yes(says="Whether an own unforced error lost it. Absent: unknown.")
    score = Score(says="The score from here on, where points were missed. Absent: it follows from the points.")


class ScoredSchema(ReceiptSchema):
    """What was added, and the score after it."""

    score = fields.Nested(
        ScoreSchema, required=True, allow_none=True, metadata={"description": "The score; null: nothing stands."}
    )
    winner = a_word(SIDES, "Who has won the match by this score; null: nobody yet.", null=True)


class PointSchema(EntrySchema):
    """A point as kept."""

    point = as_posted("What was entered")


PointPage = page_schema(PointSchema)
