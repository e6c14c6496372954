"""Read the entries in all rule files with their places, and check each file against its JSON Schema (rules/schemas)."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from jsonschema_rs import Draft202012Validator, ValidationError

from tacticapi.rulebook.files import (
    Document,
    Mistake,
    Pointer,
    RuleFileError,
    brief,
    our_rules,
    pointer_text,
    read_document,
)

EntryFault = tuple[Pointer, str, str]
"""A place within an entry, what was found there, and what was expected."""

LISTS = {
    "sources": ("sources", "key"),
    "observations": ("kinds", "id"),
    "qualities": ("qualities", "id"),
    "traits": ("traits", "id"),
    "categories": ("categories", "id"),
    "moments": ("moments", "moment"),
    "circumstances": ("circumstances", "id"),
    "tactics": ("tactics", "id"),
    "places": ("places", "tactic"),
    "balls": ("balls", "id"),
}
FOLDERS = ("observations", "traits", "circumstances", "tactics")
"""Kinds of files that have a folder; every other kind is a single file, named after it."""
WHOLE = ("defaults", "court", "danger-signs", "house")
"""Kinds of files that hold a single entry, stored under the file's path."""
OURS_ONLY = ("qualities", "categories", "moments", "defaults", "balls", "court", "danger-signs")
_TYPES = {
    "string": "text",
    "integer": "a whole number",
    "number": "a number",
    "object": "a mapping",
    "array": "a list",
    "boolean": "true or false",
    "null": "nothing",
}
_LIMITS = {
    "minimum": "a number from {}",
    "exclusiveMinimum": "a number above {}",
    "maximum": "a number up to {}",
    "exclusiveMaximum": "a number below {}",
    **dict.fromkeys(("minItems", "minProperties", "minLength"), "at least {}"),
    **dict.fromkeys(("maxItems", "maxProperties", "maxLength"), "at most {}"),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a rule file: its data, its place, and whether it is a house rule."""

    document: Document
    at: Pointer
    data: dict[str, Any]
    house: bool = False

    @property
    def category(self) -> str:
        """Return the category that the file gives its tactics; empty if it is missing or not a string."""
        named = self.document.content.get("category")
        return named if isinstance(named, str) else ""

    def mistake(self, at: Pointer, found: str, expected: str) -> Mistake:
        """Return a mistake for a field in this entry."""
        return self.document.mistake((*self.at, *at), found, expected)


@dataclass(slots=True)
class Entries:
    """All entries by kind of file and id, in file order; `named` also includes the ids of invalid entries."""

    by_kind: dict[str, dict[str, Entry]] = field(default_factory=lambda: {kind: {} for kind in (*LISTS, *WHOLE)})
    named: dict[str, set[str]] = field(default_factory=lambda: {kind: set() for kind in LISTS})
    contents: list[tuple[str, Any]] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)

    def data(self, kind: str, name: str) -> dict[str, Any] | None:
        """Return one entry's data; None if it is missing or invalid."""
        entry = self.by_kind[kind].get(name)
        return entry.data if entry else None


def house_places(paths: Sequence[Path]) -> dict[str, str]:
    """Return the file and line of each tactic, circumstance and trait in the house rules, by id."""
    known = read_entries(paths).by_kind
    named = (of for kind in ("tactics", "circumstances", "traits") for of in known[kind].items())
    house = {name: entry.mistake((), "", "") for name, entry in named if entry.house}
    return {name: f"{one.file}:{one.line}" for name, one in house.items()}


def read_entries(paths: Sequence[Path]) -> Entries:
    """Read all rule files except cases from these folders, ours first, and add all errors to `mistakes`."""
    entries = Entries()
    for folder in paths:
        if not folder.is_dir():
            entries.mistakes.append(Mistake(str(folder), 1, "", "nothing", "a folder of rule files"))
        for path in sorted(folder.rglob("*.yaml")):
            if not path.name.endswith(".cases.yaml"):
                _read_file(path, path.relative_to(folder), folder is not paths[0], entries)
    return entries


def _read_file(path: Path, name: Path, house: bool, entries: Entries) -> None:
    kind = name.parent.name or name.stem
    if wrong := _misplaced(name, kind, house):
        entries.mistakes.append(Mistake(str(path), 1, "", f"the file {name.as_posix()}", wrong))
        return
    try:
        document = read_document(path)
    except RuleFileError as error:
        entries.mistakes += error.mistakes
        return
    mistakes = list(shape_mistakes(document, kind))
    entries.mistakes += mistakes
    entries.contents.append((name.as_posix(), document.content))
    if kind in LISTS:
        _sort_in(kind, house, document, mistakes, entries)
    elif not mistakes:
        entries.by_kind[kind][str(path)] = Entry(document, (), document.content, house)


def _misplaced(name: Path, kind: str, house: bool) -> str | None:
    if kind not in (*LISTS, *WHOLE) or len(name.parts) != (2 if kind in FOLDERS else 1):
        return "a rule file with a known name, or one in observations, traits, circumstances or tactics"
    if house and kind in OURS_ONLY:
        return "no such file among house rules: it is part of the built-in rules"
    if not house and kind == "house":
        return "no house.yaml outside a folder of house rules"
    return None


def _sort_in(kind: str, house: bool, document: Document, mistakes: Sequence[Mistake], entries: Entries) -> None:
    key, id_field = LISTS[kind]
    known, named = entries.by_kind[kind], entries.named[kind]
    items = document.content.get(key) if isinstance(document.content, dict) else None
    for place, data in enumerate(items if isinstance(items, list) else ()):
        entry = Entry(document, (key, place), data, house)
        name = data.get(id_field) if isinstance(data, dict) else None
        if not isinstance(name, str):
            continue
        if name in named:
            entries.mistakes.append(entry.mistake((id_field,), f'"{name}" a second time', "a unique id"))
            continue
        named.add(name)
        prefix = pointer_text(entry.at) + "/"
        if not any((m.field + "/").startswith(prefix) for m in mistakes):
            known[name] = entry


def named_in(kind: str, data: Mapping[str, Any]) -> Iterator[tuple[Pointer, str, str]]:
    """Yield each reference to another entry: its place, the name, and the kind of entry that the schema requires."""
    rules, _ = _rules(kind)
    return _named(rules["properties"][LISTS[kind][0]]["items"] if kind in LISTS else rules, data)


def _named(rules: Mapping[str, Any], data: Any, at: Pointer = ()) -> Iterator[tuple[Pointer, str, str]]:
    if "names" in rules:
        yield at, data, rules["names"]
    chosen = [rules[name] for name in ("then", "else") if name in rules]
    chosen += [part for name, part in rules.get("dependentSchemas", {}).items() if name in data]
    for part in (*rules.get("allOf", ()), *rules.get("oneOf", ()), *chosen):
        yield from _named(part, data, at)
    if isinstance(data, dict):
        others = rules.get("additionalProperties") or {}
        for key, below in data.items():
            if part := rules.get("properties", {}).get(key, others):
                yield from _named(part, below, (*at, key))
            if "propertyNames" in rules:
                yield from _named(rules["propertyNames"], key, (*at, key))
    elif isinstance(data, list) and "items" in rules:
        for place, below in enumerate(data):
            yield from _named(rules["items"], below, (*at, place))


def shape_mistakes(document: Document, kind: str) -> Iterator[Mistake]:
    """Yield each violation of the schema in a document."""
    rules, validator = _rules(kind)
    for error in validator.iter_errors(document.content):
        for at, found, expected in _told(error, rules):
            yield document.mistake(at, found, expected)


@cache
def schema(kind: str) -> Mapping[str, Any]:
    """Return the JSON Schema of one kind of rule file."""
    content: Mapping[str, Any] = json.loads((our_rules() / "schemas" / f"{kind}.json").read_text(encoding="utf-8"))
    return content


@cache
def _rules(kind: str) -> tuple[Any, Draft202012Validator]:
    whole = _written_out(schema(kind), schema(kind))
    return whole, Draft202012Validator(whole)


def _written_out(part: Any, whole: Mapping[str, Any]) -> Any:
    """Return the schema with each reference replaced by its target, as `_named` follows none; none is circular.

    Keywords beside a reference apply in addition to its target.
    """
    if isinstance(part, list):
        return [_written_out(one, whole) for one in part]
    if not isinstance(part, dict):
        return part
    beside = {name: _written_out(one, whole) for name, one in part.items() if name not in ("$defs", "$ref")}
    if "$ref" not in part:
        return beside
    urn, _, pointer = part["$ref"].partition("#/$defs/")
    home = schema(urn.rpartition(":")[2]) if urn else whole
    found = _written_out(home["$defs"][pointer], home)
    return {**beside, "allOf": [found]} if beside else found


def _told(error: ValidationError, rules: Any) -> Iterator[tuple[Pointer, str, str]]:
    at: Pointer = tuple(error.instance_path)
    whole: Any = error.instance
    *above, keyword = error.schema_path
    for step in above:
        rules = rules[step]
    value: Any = rules[keyword]
    match keyword:
        case "required" | "dependentRequired":
            for name in value if isinstance(value, list) else (name for names in value.values() for name in names):
                if name not in whole:
                    yield (*at, name), "nothing", f"the field {name}"
        case "additionalProperties" if value is False:
            known = rules.get("properties", {})
            for name in whole:
                if name not in known:
                    yield (*at, name), "another field", f"one of {', '.join(known)}"
        case "not" if at[-1] == "effect":
            yield at, brief(whole), f"{_as_price(whole)} (docs/writing-rules.md)"
        case _:
            yield at, brief(whole), str(rules.get("description") or _expected(str(keyword), value))


def _as_price(effect: Any) -> str:
    """Return the price or the order that replaces an old `effect`; the rule's author must choose the balls."""
    known = effect if isinstance(effect, dict) else {}
    points = next((one for one in ("serve", "return") if known.get("applies_to") == one), "both")
    share = known.get("share")
    of_all = (share if isinstance(share, float) else 0.2) / (1 if points == "both" else 2)
    ball = {"serve": "serve-wing", "return": "return-deep"}.get(points, "deep")
    mix = {"serve": "serve-mix", "return": "return-usual"}.get(points, "rally-mix")
    sent = f"{{ball: {ball}, wing: aimed, per_point: 1, instead_of: {mix}}}"
    return f"price: {{points: {points}, share: {of_all:g}, sends: [{sent}]}}, or order: 5 if it sends no ball"


def _expected(keyword: str, value: Any) -> str:
    if keyword == "type":
        return " or ".join(_TYPES[name] for name in ([value] if isinstance(value, str) else value))
    if keyword == "enum":
        return f"one of {', '.join(map(str, value))}"
    if keyword == "uniqueItems":
        return "each item once"
    return _LIMITS.get(keyword, "{}").format(brief(value))
