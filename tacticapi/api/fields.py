"""Fields whose messages say what was expected, and that convert nothing: a text is no number, a 1 is not true.

An optional field takes null, which means unknown, as an absent one does.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from marshmallow import ValidationError, fields
from marshmallow.validate import Length, OneOf, Range, Regexp

__all__ = ["Items", "Real", "Table", "Text", "Whole", "Word", "Yes", "part"]


def _options(expected: str, required: bool, description: str | None, default: Any) -> dict[str, Any]:
    messages = dict.fromkeys(("required", "null", "invalid", "type", "invalid_utf8", "special", "too_large"), expected)
    metadata = {
        name: value for name, value in (("description", description), ("default", default)) if value is not None
    }
    return {"required": required, "allow_none": not required, "error_messages": messages, "metadata": metadata}


class Whole(fields.Integer):
    """A whole number between two bounds; 5.0 is one, "5" and true are none."""

    def __init__(
        self, low: int, high: int, *, required: bool = False, says: str | None = None, default: int | None = None
    ) -> None:
        expected = f"a whole number from {low} to {high:,}"
        super().__init__(validate=Range(low, high, error=expected), **_options(expected, required, says, default))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or value != int(value):
            raise self.make_error("invalid")
        return int(value)


class Real(fields.Float):
    """A number between two bounds, in the unit that its description names."""

    def __init__(self, low: float, high: float, *, required: bool = False, says: str | None = None) -> None:
        expected = f"a number from {low:g} to {high:g}"
        super().__init__(validate=Range(low, high, error=expected), **_options(expected, required, says, None))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise self.make_error("invalid")
        return float(value)


class Text(fields.String):
    """A text of at most so many characters, one at least."""

    def __init__(
        self, longest: int, *, required: bool = False, says: str | None = None, pattern: str | None = None
    ) -> None:
        expected = f"a text of 1 to {longest} characters"
        checks: list[Any] = [Length(1, longest, error=expected)]
        if pattern is not None:
            checks.append(Regexp(pattern, error=expected))
        super().__init__(validate=checks, **_options(expected, required, says, None))


class Word(fields.String):
    """One word of a closed list."""

    def __init__(
        self, words: Iterable[str], *, required: bool = False, says: str | None = None, default: str | None = None
    ) -> None:
        listed = [str(word) for word in words]
        expected = f"one of {', '.join(listed)}"
        super().__init__(validate=OneOf(listed, error=expected), **_options(expected, required, says, default))


class Yes(fields.Boolean):
    """true or false, nothing else."""

    def __init__(self, *, required: bool = False, says: str | None = None, default: bool | None = None) -> None:
        super().__init__(**_options("true or false", required, says, default))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> bool:
        if not isinstance(value, bool):
            raise self.make_error("invalid")
        return value


class Items(fields.List[Any]):
    """A list of at most so many items, of a few at least where it cannot do with less."""

    def __init__(
        self, inner: Any, most: int, *, least: int | None = None, required: bool = False, says: str | None = None
    ) -> None:
        expected = f"a list of {most:,} items" if least == most else f"a list of at most {most:,} items"
        check = Length(least, most, error=expected)
        super().__init__(inner, validate=check, **_options(expected, required, says, None))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> list[Any]:
        if not isinstance(value, list):
            raise self.make_error("invalid")
        self._validate(value)
        return super()._deserialize(value, attr, data, **kwargs)


class Table(fields.Dict):
    """Values of one sort by name; a fault is told at the name that it belongs to."""

    def __init__(self, values: Any, most: int, *, says: str | None = None) -> None:
        expected = f"an object with at most {most:,} members"
        options = _options(expected, False, says, None)
        super().__init__(fields.String(), values, validate=Length(max=most, error=expected), **options)

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        try:
            return super()._deserialize(value, attr, data, **kwargs)  # type: ignore[no-untyped-call]
        except ValidationError as error:
            if not isinstance(error.messages, dict):
                raise
            raise ValidationError({name: found["value"] for name, found in error.messages.items()}) from None


def part(schema: Any, *, says: str | None = None, required: bool = False) -> fields.Nested:
    """An object of its own shape inside another."""
    return fields.Nested(schema, **_options("an object", required, says, None))
