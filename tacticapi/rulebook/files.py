"""Find rule files, read each into plain values with a line number for every field, and report any mistakes.

Scalars follow YAML 1.2, so that `on` and `0:40` remain strings. Files are untrusted: anchors, tags, repeated keys,
large files and deep nesting are refused. This module reads the parser's events, because composed nodes no longer show
these.
"""

import json
import math
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import takewhile
from pathlib import Path
from typing import Any

import yaml

from tacticapi import settings
from tacticapi.scoring import formats

MAX_BYTES = 1_000_000
MAX_DEPTH = 32

Pointer = tuple[str | int, ...]
Fault = formats.Fault

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_WORDS: Mapping[str, bool | None] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
_WHOLE = re.compile(r"[-+]?[0-9]{1,18}")
_NUMBER = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_UNFIT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")
"""Control characters, text-direction marks, lone surrogates and the like, which some databases and terminals reject."""


@dataclass(frozen=True, slots=True, order=True)
class Mistake:
    """A mistake: file, line (from 1), field as a JSON pointer (RFC 6901), what was found and what was expected."""

    file: str
    line: int
    field: str
    found: str
    expected: str

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" + (f": {self.field}" if self.field else "")
        return f"{where}: expected {self.expected}, found {self.found}"


class RuleFileError(ValueError):
    """Raised if rule files are invalid. `mistakes` lists every error found, sorted by file and line."""

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        self.mistakes = sorted(set(mistakes))
        super().__init__("\n".join(str(mistake) for mistake in self.mistakes))


def pointer_text(at: Pointer) -> str:
    """Return a place in a document as a JSON pointer (RFC 6901); the empty string means the whole document."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in at)


def brief(value: Any) -> str:
    """Return a value for an error message, in at most 80 characters."""
    if isinstance(value, dict):
        return "a mapping" if value else "an empty mapping"
    if isinstance(value, list):
        return f"a list of {len(value)}" if value else "an empty list"
    if value is None:
        return "nothing"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 80 else text[:77] + "..."


def our_rules() -> Path:
    """Return the folder of our rules: beside the modules in a wheel, at the top level in a checkout."""
    package = Path(__file__).resolve().parents[1]
    inside = package / "rules"
    return inside if inside.is_dir() else package.parent / "rules"


def rule_paths() -> list[Path]:
    """Return the folder of our rules, then the house rule folders named in TACTICAPI_RULES."""
    named = settings.RULES.read().split(os.pathsep)
    return [our_rules(), *(Path(name) for name in named if name)]


@dataclass(frozen=True, slots=True)
class Document:
    """A file's content and the line (from 1) of each of its fields."""

    path: Path
    content: Any
    lines: Mapping[Pointer, int]

    def mistake(self, at: Pointer, found: str, expected: str) -> Mistake:
        """Return a mistake for a field; for a missing field, use its parent's line."""
        known = next((at[:n] for n in range(len(at), 0, -1) if at[:n] in self.lines), ())
        return Mistake(str(self.path), self.lines.get(known, 1), pointer_text(at), found, expected)


def read_document(path: Path) -> Document:
    """Read one file. Raises `RuleFileError` with everything that is wrong with its YAML."""
    try:
        with path.open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
        if len(raw) > MAX_BYTES:
            raise _unreadable(path, "a larger file", f"at most {MAX_BYTES:,} bytes")
        text = raw.decode()
    except OSError as error:
        raise _unreadable(path, error.strerror or "no file", "a readable file") from None
    except UnicodeDecodeError:
        raise _unreadable(path, "other bytes", "text in UTF-8") from None
    return parse_document(path, text)


def _unreadable(path: Path, found: str, expected: str) -> RuleFileError:
    return RuleFileError([Mistake(str(path), 1, "", found, expected)])


def parse_document(path: Path, text: str) -> Document:
    """Parse the text of one file; `path` is used only in error messages. Raises RuleFileError like `read_document`."""
    reading, content = _Reading(path, text), None
    try:
        content = reading.document()
    except yaml.YAMLError as error:
        mark: Any = getattr(error, "problem_mark", None)
        reading.note((mark.line if mark else 0) + 1, (), getattr(error, "problem", None) or "other text", "YAML")
    if reading.mistakes:
        raise RuleFileError(reading.mistakes)
    return Document(path, content, reading.lines)


def _line(event: Any) -> int:
    return int(event.start_mark.line) + 1


class _Reading:
    def __init__(self, path: Path, text: str) -> None:
        self.path = path
        self.events: Iterator[Any] = iter(yaml.parse(text, Loader=_LOADER))
        self.lines: dict[Pointer, int] = {}
        self.mistakes: list[Mistake] = []

    def note(self, line: int, at: Pointer, found: str, expected: str) -> None:
        self.mistakes.append(Mistake(str(self.path), line, pointer_text(at), found, expected))

    def document(self) -> Any:
        starts = (event for event in self.events if isinstance(event, yaml.DocumentStartEvent))
        content = self.node(next(self.events), ()) if next(starts, None) else None
        if second := next(starts, None):
            self.note(_line(second), (), "a second document", "one document")
        return content

    def node(self, event: Any, at: Pointer) -> Any:
        line = _line(event)
        self.lines.setdefault(at, line)
        self._refuse_references(event, line, at)
        if len(at) > MAX_DEPTH:
            raise yaml.MarkedYAMLError(problem="deeper nesting", problem_mark=event.start_mark)
        if isinstance(event, yaml.MappingStartEvent):
            return self._mapping(at)
        if isinstance(event, yaml.SequenceStartEvent):
            items = takewhile(lambda one: not isinstance(one, yaml.SequenceEndEvent), self.events)
            return [self.node(one, (*at, n)) for n, one in enumerate(items)]
        return self._scalar(event, at) if isinstance(event, yaml.ScalarEvent) else None

    def _refuse_references(self, event: Any, line: int, at: Pointer) -> None:
        if event.anchor is not None:
            self.note(line, at, f"the anchor or alias {brief(event.anchor)}", "the value written out")
        if getattr(event, "tag", None) is not None:
            self.note(line, at, f"the tag {brief(event.tag)}", "a value without a tag")

    def _mapping(self, at: Pointer) -> dict[str, Any]:
        found: dict[str, Any] = {}
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            line = _line(event)
            key = event.value if isinstance(event, yaml.ScalarEvent) else None
            if key is None:
                self.node(event, (*at, ""))
                self.note(line, at, "another key", "a word as the key")
            elif _UNFIT.search(key):
                self.note(line, at, "a control character in a key", "plain text")
                key = None
            elif key in found:
                self.note(line, (*at, key), "a repeated key", "each key once")
            else:
                self._refuse_references(event, line, (*at, key))
                self.lines[*at, key] = line
            value = self.node(next(self.events), (*at, key or ""))
            if key is not None:
                found.setdefault(key, value)
        return found

    def _scalar(self, event: Any, at: Pointer) -> Any:
        text: str = event.value
        if unfit := _UNFIT.search(text):
            self.note(_line(event), at, f"the character U+{ord(unfit.group()):04X}", "plain text")
        if not event.implicit[0]:
            return text
        if text in _WORDS:
            return _WORDS[text]
        if _WHOLE.fullmatch(text):
            return int(text)
        if not _NUMBER.fullmatch(text):
            return text
        if not math.isfinite(number := float(text)):
            self.note(_line(event), at, brief(text), "a finite number")
        return number
