"""What is wrong in a rule file, told so that its author can mend it."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

Pointer = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: its path below what was posted, the value there (None if it is missing), and what was expected."""

    path: tuple[str | int, ...]
    value: Any
    expected: str


@dataclass(frozen=True, slots=True, order=True)
class Mistake:
    """One mistake: the file, its line (from 1), the field as a JSON pointer (RFC 6901), what stood there and what
    was expected.
    """

    file: str
    line: int
    field: str
    found: str
    expected: str

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" + (f": {self.field}" if self.field else "")
        return f"{where}: expected {self.expected}, found {self.found}"


class RuleFileError(ValueError):
    """Rule files cannot be used. `mistakes` holds all that were found, by file and line."""

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        self.mistakes = sorted(set(mistakes))
        super().__init__("\n".join(str(mistake) for mistake in self.mistakes))


def pointer_text(at: Pointer) -> str:
    """A place in a document as a JSON pointer (RFC 6901); the whole document is the empty text."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in at)


def brief(value: Any) -> str:
    """A found value in at most 80 characters."""
    if isinstance(value, dict):
        return "a mapping" if value else "an empty mapping"
    if isinstance(value, list):
        return f"a list of {len(value)}" if value else "an empty list"
    if value is None:
        return "nothing"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 80 else text[:77] + "..."
