"""Frozen dataclasses ▶ JSON and back, without loss: advice, situations and rows are kept and exported this way."""

import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import Enum
from functools import lru_cache
from typing import Any, TypeVar, Union, cast, get_args, get_origin, get_type_hints

T = TypeVar("T")
_PLAIN = (str, int, float, bool)


def encode(value: Any) -> Any:
    """The value in what JSON can hold: dataclasses by field, enums by value, times in ISO 8601 with their time zone.

    Raises TypeError for anything else."""
    if value is None or type(value) in _PLAIN:
        return value
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value):
        return {field.name: encode(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, (datetime, date)):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): encode(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [encode(item) for item in value]
    raise TypeError(f"no JSON for {type(value).__name__}")


def decode(kind: type[T], data: Any) -> T:
    """Return the value of this type that `encode` made `data` of.

    A field that is added to a kept dataclass later needs a default, so that what was kept before can still be read.
    Raises ValueError, TypeError or KeyError for data that no such value can have given.
    """
    return cast(T, _decode(kind, data))


def _decode(hint: Any, data: Any) -> Any:
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return None if data is None else _decode(next(one for one in inner if one is not type(None)), data)
    if origin is not None:
        return _decode_many(origin, inner, data)
    return _decode_one(hint, data) if isinstance(hint, type) else data


def _decode_many(origin: type, inner: tuple[Any, ...], data: Any) -> Any:
    if issubclass(origin, Mapping):
        return {key: _decode(inner[1], item) for key, item in _object(data).items()}
    if not isinstance(data, list):
        raise TypeError(f"a list, not {type(data).__name__}")
    items = [_decode(inner[0], item) for item in data]
    return tuple(items) if origin is tuple else items


def _decode_one(hint: type, data: Any) -> Any:
    if is_dataclass(hint):
        return _decode_dataclass(hint, _object(data))
    if issubclass(hint, Enum):
        return hint(data)
    if issubclass(hint, datetime):
        return _moment(data)
    if issubclass(hint, date):
        return hint.fromisoformat(data)
    return data if hint is Any else _plain(hint, data)


def _decode_dataclass(kind: type, data: Mapping[str, Any]) -> Any:
    hints = _hints(kind)
    if unknown := data.keys() - hints.keys():
        raise ValueError(f"{kind.__name__} has no {', '.join(sorted(unknown))}")
    return kind(**{name: _decode(hints[name], item) for name, item in data.items()})


@lru_cache
def _hints(kind: type) -> dict[str, Any]:
    known = {field.name for field in fields(kind)}
    return {name: hint for name, hint in get_type_hints(kind).items() if name in known}


def _object(data: Any) -> Mapping[str, Any]:
    if not isinstance(data, Mapping):
        raise TypeError(f"an object, not {type(data).__name__}")
    return data


def _moment(data: Any) -> datetime:
    moment = datetime.fromisoformat(data)
    if moment.tzinfo is None:
        raise ValueError("a time with its time zone")
    return moment


def _plain(hint: type, data: Any) -> Any:
    """Return a text, number or truth value of exactly this type; a whole number may stand for a real one."""
    if type(data) is hint or (hint is float and type(data) is int):
        return data
    raise TypeError(f"{hint.__name__}, not {type(data).__name__}")
