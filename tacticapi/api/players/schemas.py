"""The shape of players. Labels are nicknames or codes: no names in full, no birth dates, no photographs."""

from typing import Any

from marshmallow import fields
from marshmallow.validate import Length, OneOf

from tacticapi.api.fields import Table, Text, Word
from tacticapi.api.paging import KeptPageQuery, Sought, page_schema
from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import a_text, a_word
from tacticapi.club.players import SIDES
from tacticapi.club.services import MAX_LABEL
from tacticapi.posted import MAX_TEXT

MOST_FACTS = 200
_LABEL = "A nickname or code, once a side in the club; no full name."
_FACTS = "Items of own or opponent, as in a situation, but for health items."


class Fact(fields.Raw):
    """One item of own or opponent; which values it takes is for the vocabulary to say."""

    def __init__(self) -> None:
        super().__init__(required=True, allow_none=True, validate=_short)


def _short(value: Any) -> None:
    if isinstance(value, str):
        Length(1, MAX_TEXT, error=f"a text of 1 to {MAX_TEXT} characters")(value)


class NewPlayerSchema(Shape):
    """A new player."""

    side = Word(SIDES, required=True, says="Whether the club advises them or meets them.")
    label = Text(MAX_LABEL, required=True, says=_LABEL)
    facts = Table(Fact(), MOST_FACTS, says=f"{_FACTS} Absent: none.")


class PlayerChangeSchema(Shape):
    """What is to be changed. Facts replace all facts before."""

    label = Text(MAX_LABEL, says=f"{_LABEL} Absent: as it was.")
    facts = Table(Fact(), MOST_FACTS, says=f"{_FACTS} Absent: as they were.")


class PlayerSchema(Shape):
    """A player as kept."""

    id = fields.UUID(required=True, metadata={"description": "Id of the player."})
    side = a_word(SIDES, "Whether the club advises them or meets them.")
    label = a_text("A nickname or code.")
    facts = fields.Dict(required=True, metadata={"description": "Items of own or opponent."})
    version = fields.Integer(required=True, metadata={"description": "Counts changes; also the ETag."})
    created_at = fields.AwareDateTime(required=True, metadata={"description": "When it was made."})
    updated_at = fields.AwareDateTime(required=True, metadata={"description": "When it was last changed."})


class PlayersQuery(KeptPageQuery):
    """Which players are wanted."""

    side = fields.String(
        validate=OneOf(SIDES, error=f"one of {', '.join(SIDES)}"), metadata={"description": "Absent: both."}
    )
    label = Sought("Only the player with exactly this label.")


PlayerPage = page_schema(PlayerSchema)
