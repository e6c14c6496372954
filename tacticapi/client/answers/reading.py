"""JSON ▶ frozen dataclasses by their type hints. Names that are not known are no error: `raw` holds everything."""

import types
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from datetime import datetime
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from tacticapi.client.problems import BrokenAnswer

Some = TypeVar("Some", bound="Answer")


@dataclass(frozen=True, kw_only=True)
class Answer:
    """An object that the service answered with; `raw` is its JSON, members of later versions included."""

    raw: Mapping[str, Any] = field(default_factory=dict, repr=False, compare=False)


def read(shape: type[Some], data: Any) -> Some:
    """The answer of this shape. What is absent is None, or empty where it is a list. Raises BrokenAnswer."""
    if not isinstance(data, Mapping):
        raise BrokenAnswer(f"expected a JSON object for {shape.__name__}, found {type(data).__name__}")
    hints = _hints(shape)  # type: ignore[arg-type]  # mypy takes the hash of an object for that of its class
    return shape(**{name: _value(hint, data.get(name)) for name, hint in hints.items()}, raw=data)


@cache
def _hints(shape: type[Answer]) -> dict[str, Any]:
    """The types of what the service answers with; what the client adds has a default."""
    hints = get_type_hints(shape)
    ours = (each for each in fields(shape) if each.default is MISSING and each.default_factory is MISSING)
    return {each.name: hints[each.name] for each in ours}


def _value(hint: Any, data: Any) -> Any:
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return None if data is None else _value(next(each for each in inner if each is not type(None)), data)
    if origin is tuple:
        if not isinstance(data, list | tuple | None):
            raise BrokenAnswer(f"expected a JSON list, found {type(data).__name__}")
        return tuple(_value(inner[0], each) for each in data or ())
    if isinstance(hint, type) and issubclass(hint, Answer):
        return None if data is None else read(hint, data)
    return datetime.fromisoformat(data) if hint is datetime and isinstance(data, str) else data
