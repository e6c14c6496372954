"""What all schemas share: unknown names refused, and messages that say what was expected."""

from typing import Any

from marshmallow import RAISE, Schema

from tacticapi.domain.rulebook import Rulebook


class Shape(Schema):
    """A JSON object whose unknown names are refused; every message says what was expected there."""

    class Meta:
        """Marshmallow options."""

        unknown = RAISE

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        names = ", ".join(field.data_key or name for name, field in self.fields.items())
        self.error_messages = {**self.error_messages, "unknown": f"no other name than {names}", "type": "an object"}


class RulebookShape(Shape):
    """A JSON object that is checked against the vocabulary."""

    def __init__(self, *, rulebook: Rulebook | None = None, **kwargs: Any) -> None:
        """Bind the vocabulary; without a rulebook the schema only describes."""
        super().__init__(**kwargs)
        self._rulebook = rulebook

    @property
    def rulebook(self) -> Rulebook:
        """The rulebook that the body is checked against."""
        if self._rulebook is None:
            raise RuntimeError("a schema without a rulebook loads nothing")
        return self._rulebook
