"""Convert frozen dataclasses to JSON and back without loss. If a stored class gains a field, give it a default."""

from collections.abc import Callable, Sequence
from dataclasses import is_dataclass
from datetime import date, datetime
from enum import StrEnum
from operator import attrgetter
from typing import Any, TypeVar

from cattrs import Converter
from cattrs.cols import homogenous_tuple_structure_factory, is_mapping, is_sequence, list_structure_factory
from cattrs.errors import ForbiddenExtraKeysError
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn, mapping_structure_factory, override

from tacticapi.domain.situation import Earlier, Observation

T = TypeVar("T")
Hook = Callable[[Any, Any], Any]
DIGITS = 6  # decimal places stored for the numbers of advice, more than responses show


def encode(value: Any) -> Any:
    """Return the value as JSON data: dataclasses by field, enums by value, times in ISO 8601 with their zone."""
    return _CONVERTER.unstructure(value)


def rounded(data: Any) -> Any:
    """Return encoded data with every number rounded to DIGITS decimal places."""
    if isinstance(data, float):
        return round(data, DIGITS)
    if isinstance(data, dict):
        return {name: rounded(item) for name, item in data.items()}
    return [rounded(item) for item in data] if isinstance(data, list) else data


def decode(kind: type[T], data: Any) -> T:
    """Return the value that `encode` turned into `data`. Raises ValueError or TypeError for invalid data."""
    try:
        return _CONVERTER.structure(data, kind)
    except ForbiddenExtraKeysError as error:
        raise ValueError(f"{error.cl.__name__} has no {', '.join(sorted(error.extra_fields))}") from None
    except KeyError as error:
        raise ValueError(f"{error} is missing") from None


def _of(given: tuple[type, ...], name: str, read: Hook) -> Hook:
    """Return a reader that accepts only these types: cattrs alone turns "1" into a number and "abc" into a list."""

    def checked(data: Any, kind: Any) -> Any:
        if type(data) in given:
            return read(data, kind)
        raise TypeError(f"{name}, not {type(data).__name__}")

    return checked


def _many(kind: Any, converter: Converter) -> Hook:
    make = homogenous_tuple_structure_factory if kind.__origin__ is tuple else list_structure_factory
    return _of((list,), "a list", make(kind, converter))


def _made() -> Converter:
    made = Converter(
        forbid_extra_keys=True, detailed_validation=False, unstruct_collection_overrides={tuple: list, Sequence: list}
    )
    for plain, given in ((str, (str,)), (int, (int,)), (bool, (bool,)), (float, (float, int))):
        made.register_structure_hook(plain, _of(given, plain.__name__, lambda data, _: data))
    made.register_structure_hook(StrEnum, lambda data, kind: kind(data))
    made.register_unstructure_hook(StrEnum, attrgetter("value"))
    for kind in (date, datetime):
        made.register_structure_hook(kind, lambda data, kind: kind.fromisoformat(data))
        made.register_unstructure_hook(kind, kind.isoformat)
    made.register_structure_hook_factory(is_sequence)(_many)

    @made.register_structure_hook_factory(is_mapping)
    def _(kind: Any, converter: Converter) -> Hook:
        return _of((dict,), "an object", mapping_structure_factory(kind, converter, dict))

    @made.register_structure_hook_factory(is_dataclass)
    def _(kind: Any, converter: Converter) -> Hook:
        return _of((dict,), "an object", make_dict_structure_fn(kind, converter))

    # every match and all advice contain the earlier matches, so their default values are not written
    seen = make_dict_unstructure_fn(Observation, made, _cattrs_omit_if_default=True)
    lean = make_dict_unstructure_fn(Earlier, made, seen=override(unstruct_hook=lambda all_seen: [*map(seen, all_seen)]))
    made.register_unstructure_hook(Earlier, lean)
    return made


_CONVERTER = _made()
