"""The shape of the health answers."""

from marshmallow import fields

from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import RulebookRefSchema, a_word


class LiveSchema(Shape):
    """The process answers."""

    status = a_word(("alive",), "Always alive.")


class ReadySchema(Shape):
    """The service can advise."""

    status = a_word(("ready",), "Always ready; a service that is not answers 503.")
    rulebook = fields.Nested(RulebookRefSchema, required=True)
    engine = a_word(("durable-rules", "evaluator"), "What matches the rules.")
    database = a_word(("sqlite", "postgresql"), "Where clubs are kept; null: nothing is kept here.", null=True)
    warnings = fields.List(fields.String(), required=True, metadata={"description": "What an operator should look at."})
