"""The shape of a rule file against its JSON Schema (draft 2020-12, in rules/schemas)."""

import json
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError

from tacticapi.knowledge.document import Document
from tacticapi.knowledge.folders import our_rules
from tacticapi.knowledge.mistakes import Mistake, Pointer, brief

_TYPES = {
    "string": "a text",
    "integer": "a whole number",
    "number": "a number",
    "object": "a mapping",
    "array": "a list",
    "boolean": "true or false",
    "null": "nothing",
}


def shape_mistakes(document: Document, kind: str) -> Iterator[Mistake]:
    """Everything in a document that its schema refuses."""
    for error in _validator(kind).iter_errors(document.content):
        for at, found, expected in _told(error):
            yield document.mistake(at, found, expected)


@cache
def schema(kind: str) -> Mapping[str, Any]:
    """The JSON Schema of one kind of rule file. Raises KeyError for an unknown kind."""
    return _schemas()[kind]


@cache
def _schemas() -> dict[str, dict[str, Any]]:
    files = sorted((our_rules() / "schemas").glob("*.json"))
    return {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in files}


@cache
def _validator(kind: str) -> Draft202012Validator:
    return Draft202012Validator(_written_out(schema(kind), schema(kind)))


def _written_out(part: Any, whole: Mapping[str, Any]) -> Any:
    """The schema with each reference replaced by what it names: none is circular, and looking up is slow."""
    if isinstance(part, list):
        return [_written_out(one, whole) for one in part]
    if not isinstance(part, dict):
        return part
    if "$ref" not in part:
        return {name: _written_out(one, whole) for name, one in part.items() if name != "$defs"}
    urn, _, pointer = part["$ref"].partition("#/$defs/")
    home = schema(urn.rpartition(":")[2]) if urn else whole
    return _written_out(home["$defs"][pointer], home)


def _told(error: ValidationError) -> Iterator[tuple[Pointer, str, str]]:
    at: Pointer = tuple(error.absolute_path)
    value: Any = error.validator_value
    whole: Any = error.instance
    rules: Mapping[str, Any] = error.schema if isinstance(error.schema, dict) else {}
    match error.validator:
        case "required":
            for name in value:
                if name not in whole:
                    yield (*at, name), "nothing", f"the field {name}"
        case "dependentRequired":
            for name in (name for names in value.values() for name in names):
                if name not in whole:
                    yield (*at, name), "nothing", f"the field {name}"
        case "additionalProperties" if value is False:
            known = rules.get("properties", {})
            for name in whole:
                if name not in known:
                    yield (*at, name), "another field", f"one of {', '.join(known)}"
        case _:
            yield at, brief(whole), str(rules.get("description") or _expected(str(error.validator), value))


_LIMITS = {
    "minimum": "a number from {}",
    "exclusiveMinimum": "a number above {}",
    "maximum": "a number up to {}",
    "exclusiveMaximum": "a number below {}",
    **dict.fromkeys(("minItems", "minProperties", "minLength"), "at least {}"),
    **dict.fromkeys(("maxItems", "maxProperties", "maxLength"), "at most {}"),
}


def _expected(keyword: str, value: Any) -> str:
    if keyword == "type":
        return " or ".join(_TYPES[name] for name in ([value] if isinstance(value, str) else value))
    if keyword == "enum":
        return f"one of {', '.join(map(str, value))}"
    if keyword == "uniqueItems":
        return "each item once"
    return _LIMITS.get(keyword, "{}").format(brief(value))
