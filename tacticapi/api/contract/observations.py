"""What an observation of each kind may look like, as JSON Schema: ways, bounds, options and qualifiers."""

import json
from collections.abc import Iterable, Mapping
from typing import Any

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Way
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.knowledge.vocabulary import HIGHEST_RATING, QUALIFIERS
from tacticapi.service.facts import LONGEST_TEXT, PROFILES
from tacticapi.service.posted import PATTERNS

Schema = dict[str, Any]
_FIELDS = {way: (way.value,) for way in Way if way is not Way.TEXT} | {Way.COUNT: ("count", "of")}
_ALL = tuple(dict.fromkeys(field for fields in _FIELDS.values() for field in fields))
_ABSENT: Schema = {"type": "null"}


def observation_rules(rulebook: Rulebook) -> list[Schema]:
    """One condition for all kinds that are posted alike: if `what` is one of them, then so."""
    alike: dict[str, list[str]] = {}
    for kind in rulebook.kinds.values():
        if kind.subject not in PROFILES:
            alike.setdefault(json.dumps(_shape(kind)), []).append(kind.id)
    return [_rule(ids, json.loads(shape)) for shape, ids in alike.items()]


def _rule(ids: Iterable[str], shape: Schema) -> Schema:
    return {"if": {"properties": {"what": {"enum": list(ids)}}}, "then": shape}


def _shape(kind: ObservationKind) -> Schema:
    """One way of saying it, the qualifiers that it takes and no others."""
    required = [name for name in QUALIFIERS if kind.qualifiers.get(name) == "required"]
    qualifiers: Schema = {name: {"type": "string"} for name in required}
    qualifiers.update({name: _ABSENT for name in QUALIFIERS if name not in kind.qualifiers})
    return {"anyOf": _forms(kind), "properties": qualifiers, "required": required}


def _forms(kind: ObservationKind) -> list[Schema]:
    forms = [
        _form({**{name: {} for name in _FIELDS[way]}, **_bounds(way, kind)}) for way in kind.ways if way is not Way.TEXT
    ]
    if Way.TEXT in kind.ways:
        pattern = PATTERNS.get(kind.id)
        text = {"pattern": f"^{pattern[0].pattern}$"} if pattern else {"minLength": 1, "maxLength": LONGEST_TEXT}
        forms += [_form({"value": {"type": "string", **text}}), _form({"note": {"type": "string"}})]
    return forms


def _form(said: Mapping[str, Schema]) -> Schema:
    """These fields, each with a value, and no other way beside them."""
    given = {name: shape or {"not": _ABSENT} for name, shape in said.items()}
    return {"required": list(said), "properties": {**dict.fromkeys(_ALL, _ABSENT), **given}}


def _bounds(way: Way, kind: ObservationKind) -> Schema:
    match way:
        case Way.VALUE:
            return {"value": {"enum": list(kind.options)}}
        case Way.COUNTS:
            return {"counts": {"type": "object", "propertyNames": {"enum": list(kind.options)}, "minProperties": 1}}
        case Way.RATING:
            return {"rating": {"type": "integer", "minimum": 0, "maximum": HIGHEST_RATING}}
        case Way.AMOUNT:
            bounds = {"minimum": kind.low, "maximum": kind.high}
            return {"amount": {"type": "number", **{name: at for name, at in bounds.items() if at is not None}}}
        case _:
            return {}
