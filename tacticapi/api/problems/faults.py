"""Faults as a problem document lists them: where, what stood there, shortened, and what was expected."""

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from tacticapi.knowledge import Fault
from tacticapi.knowledge.mistakes import pointer_text

LONGEST_TEXT = 60


def fault_body(fault: Fault, of_parameter: bool = False) -> dict[str, Any]:
    """One fault with its place: a pointer into the body, or the name of a parameter."""
    path = tuple(_clean(step) if isinstance(step, str) else step for step in fault.path)
    where = {"parameter": str(path[0]) if path else ""} if of_parameter else {"pointer": pointer_text(path)}
    return {**where, "value": shortened(fault.value), "expected": fault.expected}


def shortened(value: Any) -> Any:
    """A posted value short enough to be shown: scalars as they are, the rest by its size."""
    if isinstance(value, str):
        text = _clean(value)
        return text if len(text) <= LONGEST_TEXT else text[: LONGEST_TEXT - 1] + "…"
    if isinstance(value, Mapping):
        return f"an object with {len(value)} member{'' if len(value) == 1 else 's'}"
    if isinstance(value, (list, tuple)):
        return _short_list(value)
    if isinstance(value, (int, float)) and not isinstance(value, bool) and not math.isfinite(value):
        return str(value)
    return value


def _short_list(value: Sequence[Any]) -> str:
    if len(value) <= 4 and all(item is None or isinstance(item, (bool, int, str)) for item in value):
        text = json.dumps([_clean(item) if isinstance(item, str) else item for item in value], ensure_ascii=False)
        if len(text) <= LONGEST_TEXT:
            return text
    return f"a list of {len(value)}"


def _clean(text: str) -> str:
    """Without what no answer can carry."""
    return text[:200].encode("utf-8", "replace").decode("utf-8").replace("\x00", "?")


def faults_of(messages: Any, posted: Any, at: tuple[str | int, ...] = ()) -> Iterable[Fault]:
    """Marshmallow's messages as faults in the order of the body; each message says what was expected."""
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
