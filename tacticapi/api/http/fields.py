"""Define the fields of requests and responses. A string is not a number, 1 is not true, and null means unknown."""

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import is_dataclass
from datetime import UTC, datetime
from enum import EnumType
from functools import cache, partial, reduce
from operator import attrgetter, itemgetter
from types import NoneType
from typing import Annotated, Any, ClassVar, Literal, TypeVar, cast, get_args, get_origin, get_type_hints
from uuid import UUID

from flask import has_request_context, request
from marshmallow import EXCLUDE, RAISE, Schema, ValidationError, fields, missing, pre_load
from marshmallow.validate import Length, OneOf, Range, Regexp

from tacticapi.domain import Figure
from tacticapi.domain.rules import Rulebook
from tacticapi.rulebook.files import Fault

ROOT = "tacticapi.root"
"""The environ key for the path at which the service is hosted, if SCRIPT_NAME is longer."""


def hosted(path: str) -> str:
    """Return the address of a path on this service, with the prefix under which a proxy hosts it."""
    return str(request.environ.get(ROOT, request.script_root)) + path if has_request_context() else path


class Shape(Schema):
    """A JSON object that refuses unknown names. Every message says what was expected."""

    class Meta:
        """Marshmallow options."""

        unknown = RAISE

    keeps_null: ClassVar[bool] = False  # true for responses and merge patches

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        names = ", ".join(field.data_key or name for name, field in self.fields.items())
        self.error_messages = {**self.error_messages, "unknown": f"one of the names {names}", "type": "an object"}

    @pre_load
    def without_null(self, data: Any, **kwargs: Any) -> Any:
        """Treat null as absent, unless null removes a value."""
        if self.keeps_null or not isinstance(data, dict):
            return data
        return {name: value for name, value in data.items() if value is not None or name not in self.fields}


class RulebookShape(Shape):
    """A JSON object that is checked against the vocabulary."""

    def __init__(self, *, rulebook: Rulebook | None = None, **kwargs: Any) -> None:
        """Bind the vocabulary. Without a rulebook, the schema can only be described, not used."""
        super().__init__(**kwargs)
        self.rulebook: Any = rulebook


def options(
    expected: str, says: str = "", *, required: bool = False, null: bool = True, default: Any = None, **more: Any
) -> dict[str, Any]:
    """Return the options for a request field. Every message says what was expected; null means unknown."""
    metadata = {"description": says or None, **more}
    return {
        "required": required,
        "allow_none": null and not required,
        "load_default": missing if default is None else default,
        "error_messages": dict.fromkeys(_MESSAGES, expected),
        "metadata": {name: value for name, value in metadata.items() if value is not None},
    }


_MESSAGES = (
    "required", "null", "invalid", "type", "invalid_utf8", "special", "too_large", "invalid_awareness", "format",
)  # fmt: skip


class Whole(fields.Integer):
    """A whole number between two bounds; 5.0 is valid, "5" and true are not."""

    def __init__(self, low: int, high: int, **told: Any) -> None:
        expected = f"a whole number from {low} to {high:,}"
        super().__init__(validate=Range(low, high, error=expected), **options(expected, **told))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or value != int(value):
            raise self.make_error("invalid")
        return int(value)


class Real(fields.Float):
    """A number between two bounds, in the unit named in its description."""

    def __init__(self, low: float, high: float, **told: Any) -> None:
        expected = f"a number from {low:g} to {high:g}"
        super().__init__(validate=Range(low, high, error=expected), **options(expected, **told))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise self.make_error("invalid")
        return float(value)


class Text(fields.String):
    """A string of 1 to `longest` characters."""

    def __init__(self, longest: int, *, pattern: str = "", **told: Any) -> None:
        expected = f"a string of 1 to {longest} characters"
        checks = [Length(1, longest, error=expected), *([Regexp(pattern, error=expected)] if pattern else [])]
        super().__init__(validate=checks, **options(expected, **told))


class ExternalId(Text):
    """The club's own id for a player or a match."""

    def __init__(self, absent: str = "") -> None:
        says = f"The id in the club's own system, unique in the club; not a name. {absent}".strip()
        super().__init__(MAX_EXTERNAL_ID, pattern=r"^[^/]+$", says=says)


class Id(fields.String):
    """The id of a stored resource, a UUID."""

    def __init__(self, says: str, **told: Any) -> None:
        super().__init__(**options("an id: a UUID", says=says, format="uuid", **told))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> str:
        text = super()._deserialize(value, attr, data, **kwargs)
        if not _UUID.fullmatch(text):
            raise self.make_error("invalid")
        return text.lower()


MAX_EXTERNAL_ID = 64
_UUID = re.compile(r"[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}")


class Time(fields.AwareDateTime):
    """A time with its zone (RFC 3339), converted to UTC."""

    def __init__(self, **told: Any) -> None:
        super().__init__("iso", **options("a time with its time zone, such as 2026-05-01T09:00:00Z", **told))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> datetime:
        try:
            return super()._deserialize(value, attr, data, **kwargs).astimezone(UTC)
        except OverflowError:  # near the ends of the calendar, UTC is out of range
            raise self.make_error("invalid") from None


class Rfc3339(fields.String):
    """A time in RFC 3339 form, parsed when it is checked against the clock."""

    def __init__(self, says: str) -> None:
        super().__init__(**options("a time such as 2026-05-01T09:00:00Z (RFC 3339)", says=says, format="date-time"))


class Word(fields.String):
    """A word from a closed list."""

    def __init__(self, words: Iterable[str], **told: Any) -> None:
        listed = [str(word) for word in words]
        expected = f"one of {', '.join(listed)}"
        super().__init__(validate=OneOf(listed, error=expected), **options(expected, **told))


class StrictBoolean(fields.Boolean):
    """The boolean true or false, and nothing else."""

    def __init__(self, **told: Any) -> None:
        super().__init__(**options("true or false", **told))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> bool:
        if not isinstance(value, bool):
            raise self.make_error("invalid")
        return value


class Items(fields.List[Any]):
    """A list of `least` to `most` items."""

    def __init__(self, inner: Any, most: int, *, least: int | None = None, **told: Any) -> None:
        expected = f"a list of {most:,} items" if least == most else f"a list of at most {most:,} items"
        super().__init__(inner, validate=Length(least, most, error=expected), **options(expected, **told))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> list[Any]:
        if not isinstance(value, list):
            raise self.make_error("invalid")
        self._validate(value)
        return super()._deserialize(value, attr, data, **kwargs)


class Table(fields.Dict):
    """An object with values of one type. Each fault is reported at the name that it concerns."""

    def __init__(self, values: Any, most: int, **told: Any) -> None:
        """Accept at most this many values; `components` names the contract components that describe them."""
        expected = f"an object with at most {most:,} members"
        check = Length(max=most, error=expected)
        super().__init__(fields.String(), values, validate=check, **options(expected, **told))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        try:
            return super()._deserialize(value, attr, data, **kwargs)  # type: ignore[no-untyped-call]
        except ValidationError as error:
            if not isinstance(error.messages, dict):
                raise
            raise ValidationError({name: found["value"] for name, found in error.messages.items()}) from None


def part(schema: Any, **told: Any) -> fields.Nested:
    """Describe a nested object with its own shape."""
    return fields.Nested(schema, **options("an object", **told))


def a_choice(of: Iterable[str], says: str, **told: Any) -> Word:
    """Describe a parameter whose value is one of these words."""
    return Word(of, says=says, null=False, **told)


Read = Callable[[Any], Any]
Of = str | Read | None


class Answer(Shape):
    """A JSON object in a response, described and written by its fields. Clients ignore unknown members.

    A field reads the attribute with its own name, or its `of`: a path (margin.way.time, spot.0) or a function.
    """

    class Meta:
        """Marshmallow options."""

        unknown = EXCLUDE  # the contract leaves responses open, so that they can grow

    keeps_null = True

    @classmethod
    def written(cls, what: Any, *, without: Collection[str] = (), **given: Any) -> dict[str, Any]:
        """Return the members that have a value, in field order; those in `given` are used as they are."""
        written = {}
        for name, read in _readers(cls):
            if name not in without:
                value = given[name] if name in given else read(what)
                if value is not None:
                    written[name] = value
        return written


@cache
def _readers(shape: type[Answer]) -> tuple[tuple[str, Read], ...]:
    """Return a reader for each member, created once per class; marshmallow's own dump takes six times as long."""
    declared: dict[str, fields.Field[Any]] = shape._declared_fields
    return tuple((field.data_key or name, _reader(name, field)) for name, field in declared.items())


def _reader(name: str, field: fields.Field[Any]) -> Read:
    of = field.metadata.get("of")
    read: Read = of if callable(of) else _getter(of or field.data_key or name)
    write = _writer(field)
    if write is None:
        return read

    def written(what: Any) -> Any:
        value = read(what)
        return None if value is None else write(value)

    return written


def _getter(of: str) -> Read:
    """Return a reader for a dotted attribute path; a numeric step reads the item at that index."""
    steps: list[Read] = [itemgetter(int(one)) if one.isdigit() else attrgetter(one) for one in of.split(".")]
    if all(isinstance(step, attrgetter) for step in steps):
        return attrgetter(of)
    return lambda what: reduce(lambda value, step: step(value), steps, what)


def _writer(field: fields.Field[Any]) -> Read | None:
    if isinstance(field, fields.Nested):
        nested = cast(type[Shape], field.nested)
        return nested.written if issubclass(nested, Answer) else None  # a request shape is JSON already
    if isinstance(field, fields.List):
        inner = _writer(field.inner)
        return list if inner is None else lambda items: [inner(item) for item in items]
    if isinstance(field, fields.Dict):
        return dict
    if isinstance(field, fields.DateTime):
        return datetime.isoformat
    if isinstance(field, fields.Float) and (digits := field.metadata.get("digits")) is not None:
        return lambda value: round(value, digits) + 0.0  # avoid -0.0
    return str if isinstance(field, fields.String) and field.validators else None


def _member(
    says: str | None = None, *, absent: bool = False, of: Of = None, digits: int | None = None, like: Sequence[str] = ()
) -> dict[str, Any]:
    """Return the options for a response member, which is required unless `absent`.

    Numbers are rounded to `digits` decimal places; an object has the shape of one of the components in `like`.
    """
    told = {"description": says, "of": of, "digits": digits, "components": like or None}
    metadata = {name: value for name, value in told.items() if value is not None}
    return {"required": not absent, "metadata": metadata}


Made = TypeVar("Made", bound=fields.Field[Any])


def _describing(kind: Callable[..., Made], **fixed: Any) -> Callable[..., Made]:
    """Return a function that describes a member of this kind, given a sentence and the options of `_member`."""
    return lambda says=None, **told: kind(**fixed, **_member(says, **told))


a_text, an_id, a_count = _describing(fields.String), _describing(fields.UUID), _describing(fields.Integer)
a_time, a_fact, a_number = _describing(fields.AwareDateTime), _describing(fields.Boolean), _describing(fields.Float)
a_chance = _describing(fields.Float, validate=Range(0, 1))
texts = _describing(partial(fields.List, fields.String()))


def a_word(words: Iterable[str], says: str, **told: Any) -> fields.String:
    """Describe a word from a closed list."""
    return fields.String(validate=OneOf([str(word) for word in words]), **_member(says, **told))


def an_object(says: str, values: Any = None, **told: Any) -> fields.Dict:
    """Describe an object; `values` describes its values if they all have the same type."""
    return fields.Dict(fields.String(), values, **_member(says, **told))


def a_part(shape: type[Shape], says: str | None = None, **told: Any) -> fields.Nested:
    """Describe an object with its own shape."""
    return fields.Nested(shape, **_member(says, **told))


def a_list(inner: Any, says: str | None = None, **told: Any) -> fields.List[Any]:
    """Describe a list, which may be empty."""
    shape = fields.Nested(inner) if isinstance(inner, type) and issubclass(inner, Shape) else inner
    return fields.List(shape, **_member(says, **told))


def told(members: Mapping[str, Any]) -> dict[str, Any]:
    """Return the members that have a value."""
    return {name: value for name, value in members.items() if value is not None}


def itself(what: Any) -> Any:
    """Return the object itself, so that a part can read its members from the whole."""
    return what


SHAPES: dict[Any, type[Answer]] = {}
"""The shapes of responses, by the types that they describe."""


def shape_of(kind: type, name: str | None = None, order: str = "", **own: fields.Field[Any]) -> type[Answer]:
    """Return a dataclass's response shape, with a member for each field whose type has a description.

    `own` members are added or replace these; `order` names the members that come first. Shapes for nested dataclasses
    are also created, unless they already exist.
    """
    told = {field: _told(hint) for field, hint in get_type_hints(kind, include_extras=True).items()}
    members = {**{field: made for field, made in told.items() if made}, **own}
    first = {field: members[field] for field in order.split()}
    SHAPES[kind] = type(f"{name or kind.__name__}Schema", (Answer,), {"__doc__": kind.__doc__, **first, **members})
    return SHAPES[kind]


def _told(hint: Any, *, item: bool = False) -> fields.Field[Any] | None:
    """Return the member for a type with a description; None for a type without one, unless it is a list item."""
    says, absent, notes = None, False, list[Any]()
    while (optional := NoneType in get_args(hint)) or get_origin(hint) is Annotated:
        hint, *more = sorted(get_args(hint), key=lambda one: one is NoneType) if optional else get_args(hint)
        absent, notes = absent or optional, notes + more
        says = says or next((note for note in reversed(more) if isinstance(note, str)), None)
    if says is None and not item:
        return None
    options = {} if item and says is None else _member(says or None, absent=absent)
    figure = next((note for note in notes if isinstance(note, Figure)), Figure())
    options.setdefault("metadata", {}).update({} if figure.digits is None else {"digits": figure.digits})
    bounded = (figure.low, figure.high) != (None, None)
    words = hint if isinstance(hint, EnumType) else next((note for note in notes if isinstance(note, tuple)), ())
    words = get_args(hint) if get_origin(hint) is Literal else words
    options["validate"] = OneOf([*map(str, words)]) if words else Range(figure.low, figure.high) if bounded else None
    if hint in SHAPES or is_dataclass(hint):
        return fields.Nested(SHAPES.get(hint) or shape_of(hint), **options)
    if get_origin(hint) is tuple:
        return fields.List(cast(Any, _told(get_args(hint)[0], item=True)), **options)
    if get_origin(hint) is Mapping:
        values = fields.Float() if get_args(hint)[1] is float else None
        return fields.Dict(fields.String(), values, **options)
    return fields.UUID(**options) if UUID in notes else _SORTS.get(hint, fields.String)(**options)


_SORTS = {bool: fields.Boolean, int: fields.Integer, float: fields.Float, datetime: fields.AwareDateTime}


def faults_of(messages: Any, posted: Any, at: tuple[str | int, ...] = ()) -> Iterable[Fault]:
    """Yield marshmallow's messages as faults, in body order; each message says what was expected."""
    if isinstance(messages, Mapping):
        for name, below in messages.items():
            yield from faults_of(below, posted, at if name == "_schema" else (*at, name))
        return
    for message in messages if isinstance(messages, (list, tuple)) else [messages]:
        yield Fault(at, _at(posted, at), str(message))


def _at(posted: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        try:
            posted = posted[step]
        except (KeyError, IndexError, TypeError):
            return None
    return posted
