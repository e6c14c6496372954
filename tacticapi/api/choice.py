"""One of a few words in a query."""

from collections.abc import Iterable
from typing import Any

from marshmallow import fields
from marshmallow.validate import OneOf


def a_choice(of: Iterable[str], says: str, **more: Any) -> fields.String:
    """A parameter that is one of these words; `more` goes to the field."""
    words = [str(word) for word in of]
    expected = f"one of {', '.join(words)}"
    return fields.String(
        validate=OneOf(words, error=expected),
        error_messages={"invalid": expected},
        metadata={"description": says},
        **more,
    )
