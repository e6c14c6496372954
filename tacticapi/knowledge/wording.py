"""How rule texts must speak: of "your opponent" and "they", and of wings instead of left and right."""

import re
from collections.abc import Iterator
from typing import Any

from tacticapi.knowledge.mistakes import Pointer

# fmt: off
_TEXTS = frozenset({
    "title", "say", "why", "not_if", "stop_when", "caution", "coaches_differ", "deprecated", "settled", "note",
    "backs", "means", "not_from", "asks", "says", "trap", "probe", "unused_because",
})
# fmt: on
_GENDERED = re.compile(r"\b(she|her|hers|herself|he|his|him|himself)\b", re.IGNORECASE)
_SIDED = re.compile(
    r"\b(left|right) of\b"
    r"|\b(left|right)[ -](side|wing|corner|half)\b"
    r"|\b(to|on|from|at) (the|their|your opponent's) (left|right)(?=\s*([.,;:)]|$))",
    re.IGNORECASE,
)


def wording_faults(data: Any, at: Pointer = ()) -> Iterator[tuple[Pointer, str, str]]:
    """Each text below `data` that speaks otherwise: its place, the words found, and what was expected."""
    if isinstance(data, dict):
        for name, value in data.items():
            if isinstance(value, str) and name in _TEXTS:
                yield from _faults_of(value, (*at, name))
            else:
                yield from wording_faults(value, (*at, name))
    elif isinstance(data, list):
        for place, value in enumerate(data):
            yield from wording_faults(value, (*at, place))


def _faults_of(text: str, at: Pointer) -> Iterator[tuple[Pointer, str, str]]:
    if found := _GENDERED.search(text):
        yield at, f'"{found.group()}"', "a text that says your opponent, they or them"
    if found := _SIDED.search(text):
        yield at, f'"{found.group()}"', "a text that speaks of wings, never of left or right"
