"""The shape of feedback."""

from marshmallow import fields

from tacticapi.api.fields import Text, Word
from tacticapi.api.paging import page_schema
from tacticapi.api.shapes import Shape
from tacticapi.api.situations.parts import LONGEST_ID
from tacticapi.api.suggestions.schemas import a_text, a_word
from tacticapi.club.advising import KINDS, MAX_REASON, NOT_USED, OUTCOME, OUTCOMES, USED

_REASON = f"For {NOT_USED}: why. For {OUTCOME}: one of {', '.join(OUTCOMES)}. Absent: none, as for {USED}."


class NewFeedbackSchema(Shape):
    """What became of a suggestion. Points won by it are tries, not feedback."""

    tactic = Text(LONGEST_ID, required=True, says="Id of a tactic that the advice suggested.")
    kind = Word(KINDS, required=True, says="What is told.")
    reason = Text(MAX_REASON, says=_REASON)


class FeedbackSchema(Shape):
    """Feedback as kept."""

    id = fields.UUID(required=True, metadata={"description": "Id of the line."})
    advice_id = fields.UUID(required=True, metadata={"description": "The advice that it is on."})
    tactic = a_text("Id of the tactic.")
    kind = a_word(KINDS, "What is told.")
    reason = a_text("The reason, or the outcome.", null=True)
    created_at = fields.AwareDateTime(required=True, metadata={"description": "When it was told."})


FeedbackPage = page_schema(FeedbackSchema)
