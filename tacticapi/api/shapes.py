"""What all schemas share: unknown names refused, and messages that say what was expected."""

from typing import Any

from marshmallow import RAISE, Schema


class Shape(Schema):
    """A JSON object whose unknown names are refused; every message says what was expected there."""

    class Meta:
        """Marshmallow options."""

        unknown = RAISE

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        names = ", ".join(field.data_key or name for name, field in self.fields.items())
        self.error_messages = {**self.error_messages, "unknown": f"no other name than {names}", "type": "an object"}
