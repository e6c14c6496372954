"""Read strict JSON, from a request or an export.

It is refused if two readers could understand it differently (RFC 8259 and RFC 7493, I-JSON): UTF-8, no duplicate
names, no NaN or Infinity, no number beyond 2^53, no lone surrogates, no NUL, at most 20 levels.
"""

import json
import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from tacticapi.rulebook.files import Fault

MAX_DEPTH = 20
MAX_NUMBER = 2**53  # beyond it a float no longer tells neighbouring whole numbers apart
MAX_DIGITS = 20
_DEPTH = f"at most {MAX_DEPTH} levels of lists and objects"
_SURROGATE = re.compile("[\ud800-\udfff]")
_NUMBER = "a number no further from zero than 2^53"

Path = tuple[str | int, ...]


class StrictJsonError(ValueError):
    """The body is not valid, unambiguous JSON. `faults` says where and what was expected."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.expected for fault in faults))


class _Repeated(dict[str, Any]):
    """An object in which these names occur more than once; the last value of each is kept."""

    names: tuple[str, ...] = ()


def strict_json(body: bytes) -> Any:
    """Return the JSON value of a body. Raises StrictJsonError with every fault found."""
    try:
        return strict_text(body.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise StrictJsonError([Fault((), None, f"UTF-8 text; byte {error.start} is none")]) from None


def strict_text(text: str, *, nul: bool = False) -> Any:
    """Return the JSON value of a text; `nul` permits NUL in it. Raises as `strict_json`."""
    try:
        value = _DECODER.decode(text)
    except json.JSONDecodeError as error:
        where = f"JSON; line {error.lineno}, column {error.colno}: {error.msg.lower()}"
        raise StrictJsonError([Fault((), None, where)]) from None
    except RecursionError:
        raise StrictJsonError([Fault((), None, _DEPTH)]) from None
    faults = [] if _harmless(value, nul) else list(_faults(value, (), 1, nul))
    if faults:
        raise StrictJsonError(faults)
    return value


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) == len(pairs):
        return made
    times = Counter(name for name, _ in pairs)
    repeated = _Repeated(made)
    repeated.names = tuple(name for name in made if times[name] > 1)
    return repeated


def _whole(digits: str) -> float:
    return int(digits) if len(digits) <= MAX_DIGITS else math.inf


_DECODER = json.JSONDecoder(object_pairs_hook=_object, parse_int=_whole, parse_constant=float)


def _faults(value: Any, at: Path, depth: int, nul: bool) -> Iterator[Fault]:
    """Return the faults of a value that is not harmless, looking down only where there is something to look at."""
    if isinstance(value, str):
        if not _plain(value, nul):
            yield Fault(at, value, "a text without NUL and lone surrogates")
    elif isinstance(value, (dict, list)):
        if depth > MAX_DEPTH:
            yield Fault(at, value, _DEPTH)
            return
        if isinstance(value, dict):
            yield from _name_faults(value, at, nul)
        for step, item in value.items() if isinstance(value, dict) else enumerate(value):
            if not _harmless(item, nul):
                yield from _faults(item, (*at, step), depth + 1, nul)
    else:
        yield Fault(at, value, _NUMBER)


def _harmless(value: Any, nul: bool) -> bool:
    kind = type(value)
    if kind is str:
        return value.isascii() and (nul or "\x00" not in value)
    return kind is bool or value is None or ((kind is int or kind is float) and -MAX_NUMBER <= value <= MAX_NUMBER)


def _name_faults(value: dict[str, Any], at: Path, nul: bool) -> Iterator[Fault]:
    if isinstance(value, _Repeated):
        for name in value.names:
            yield Fault((*at, name), value[name], "each name once in an object")
    for name in value:
        if not _plain(name, nul):
            yield Fault((*at, name), name, "a name without NUL and lone surrogates")


def _plain(text: str, nul: bool) -> bool:
    return (nul or "\x00" not in text) and not _SURROGATE.search(text)
