"""Generate the published contract: OpenAPI 3.1 from the code, with problem documents and the vocabulary as schemas."""

import copy
import json
import re
from collections.abc import Iterable, Iterator
from http import HTTPStatus
from pathlib import Path
from typing import Any

import flask_smorest
import yaml
from flask import Flask
from marshmallow import fields

from tacticapi.api.http.blueprint import SECURITY
from tacticapi.api.http.problems import MEDIA_TYPE, ProblemSchema
from tacticapi.api.situations import KindId
from tacticapi.domain.rules import ObservationKind, Rulebook, WingRule
from tacticapi.domain.situation import Coaching, Device, Moment, Phase, Verdict, Way, Wing
from tacticapi.evidence.spots import COURTS
from tacticapi.posted import DIRECTIONS, ENDS, FORMAT, MAX_TEXT, PROFILES, READINGS, kinds_of
from tacticapi.rulebook.conditions import MAX_RATING, QUALIFIERS
from tacticapi.scoring.formats import SIDES

JsonSchema = dict[str, Any]
TOLD: dict[str, Any] = yaml.safe_load(Path(__file__).with_name("contract.yaml").read_text(encoding="utf-8"))
"""The contract's hand-written text: tags, responses, headers, and shapes of vocabulary items."""
_DEFAULTS = {"context.coaching": "unknown", "context.device": "unknown"}


def profile_components(rulebook: Rulebook) -> dict[str, JsonSchema]:
    """Return the objects `context`, `own` and `opponent` and the match format, by component name."""
    made = {}
    for subject in PROFILES:
        properties = {key: _item(kind) for key, kind in kinds_of(rulebook, subject).items()}
        if subject == "context":
            reference = {"anyOf": [{"$ref": "#/components/schemas/Format"}, {"type": "null"}]}
            properties[FORMAT] = {**reference, "description": "The format. Default: best of three tie-break sets."}
        made[subject.capitalize()] = {
            "type": "object",
            "description": "Absent or null if unknown.",
            "properties": properties,
            "additionalProperties": False,
        }
    heat = TOLD["schemas"]["Heat"]
    for name, (low, high, _) in READINGS.items():
        heat["properties"][name] = {"type": ["number", "null"], "minimum": low, "maximum": high}
    return {**made, **TOLD["schemas"]}


def _item(kind: ObservationKind) -> JsonSchema:
    forms = [_way(way, kind) for way in kind.ways]
    if kind.id in _OBJECTS:
        forms.append({"$ref": f"#/components/schemas/{_OBJECTS[kind.id]}"})
    made: JsonSchema = _nullable(forms[0]) if len(forms) == 1 else {"anyOf": [*forms, {"type": "null"}]}
    made["description"] = kind.asks
    if kind.id in _DEFAULTS:
        made["default"] = _DEFAULTS[kind.id]
    return made


def _way(way: Way, kind: ObservationKind) -> JsonSchema:
    match way:
        case Way.VALUE:
            return {"type": "string", "enum": list(kind.options)}
        case Way.RATING:
            return {"type": "integer", "minimum": 0, "maximum": MAX_RATING}
        case Way.AMOUNT:
            bounds = {"minimum": kind.low, "maximum": kind.high}
            return {"type": "number", **{name: bound for name, bound in bounds.items() if bound is not None}}
        case Way.SEEN:
            return {"type": "boolean"}
        case _:
            return {"type": "string", "minLength": 1, "maxLength": MAX_TEXT}


def _nullable(form: JsonSchema) -> JsonSchema:
    made = {**form, "type": [form["type"], "null"]}
    if "enum" in form:
        made["enum"] = [*form["enum"], None]
    return made


_OBJECTS = {"context.wind": "Wind", "context.heat": "Heat"}
EXTENSION = "tacticapi-contract"
METHODS = frozenset({"get", "post", "patch", "put", "delete"})


class Contract(flask_smorest.Api):
    """Generates the contract. The application, not this class, handles errors."""

    def __init__(self, app: Flask, rulebook: Rulebook) -> None:
        options = {"info": TOLD["info"], "servers": [{"url": "/"}]}
        self._ids = [kind.id for kind in rulebook.kinds.values() if kind.subject not in PROFILES]
        super().__init__(app, spec_kwargs=options)
        app.extensions[EXTENSION] = self
        for name, component in profile_components(rulebook).items():
            self.spec.components.schema(name, component)
        self.spec.components.security_scheme(SECURITY, TOLD["token"])
        for name, parameter in TOLD["parameters"].items():
            self.spec.components.parameter(name, "header", parameter, lazy=True)
        for name, header in TOLD["headers"].items():
            self.spec.components.header(name, header, lazy=True)

    def _init_spec(self, **options: Any) -> None:
        super()._init_spec(**options)
        ids = self._ids

        def vocabulary2properties(converter: Any, field: fields.Field[Any], **kwargs: Any) -> dict[str, Any]:
            """Return the schema that the rulebook defines for a field: its ids, or the components of an object."""
            if isinstance(field, KindId):
                return {"enum": ids}
            forms = [{"$ref": f"#/components/schemas/{name}"} for name in field.metadata.get("components", ())]
            if len(forms) == 1 and not field.allow_none:
                return forms[0]
            return {"anyOf": [*forms, {"type": "null"}] if field.allow_none else forms} if forms else {}

        self.ma_plugin.converter.add_attribute_function(vocabulary2properties)

    def _inherit(self, made: JsonSchema) -> None:
        """Let a schema refer to the schema that it extends and list only its additions, if both are open."""
        schemas = made["components"]["schemas"]
        known = {key[0]: name for key, name in self.ma_plugin.converter.refs.items()}
        bases = {name: next((known[up] for up in one.__mro__[1:] if up in known), "") for one, name in known.items()}
        made["components"]["schemas"] = {
            name: _addition(schema, schemas[base], base) if (base := bases.get(name)) else schema
            for name, schema in schemas.items()
        }

    def _register_error_handlers(self) -> None:
        """Leave errors to the application, which writes problem documents."""

    def _register_responses(self) -> None:
        for status in HTTPStatus:
            response: dict[str, Any] = {"description": status.phrase, **TOLD["responses"].get(status.value, {})}
            if status >= 400:
                response["content"] = {MEDIA_TYPE: {"schema": ProblemSchema}}
            named_later = status in (HTTPStatus.NOT_FOUND, HTTPStatus.NOT_ACCEPTABLE)
            self.spec.components.response(status.name, response, lazy=not named_later)
        content = {MEDIA_TYPE: {"schema": ProblemSchema}}
        problem = {**TOLD["responses"]["otherwise"], "content": content}
        self.spec.components.response(self.DEFAULT_ERROR_RESPONSE_NAME, problem, lazy=True)

    def described(self) -> dict[str, Any]:
        """Return the contract without examples, with its parts in reading order."""
        made: dict[str, Any] = copy.deepcopy(self.spec.to_dict())
        made["info"] = _ordered(made["info"], ("title", "version"))
        made["components"]["schemas"].pop("PaginationMetadata", None)  # the library's own paging is unused
        made["tags"] = [{"name": tag["name"], "description": tag["description"]} for tag in TOLD["tags"]]
        for address, path in made["paths"].items():
            if "parameters" in path:
                names = re.findall(r"{(\w+)}", address)
                path["parameters"].sort(key=lambda one: names.index(one["name"]))
            for method in path.keys() & METHODS:
                path[method] = _operation(address, path[method])
        _name_words(made)
        _open_answers(made)
        self._inherit(made)
        _share_parameters(made)
        return _ordered(made, ("openapi", "info", "servers", "tags", "paths", "components"))


_OPERATION_ORDER = (
    "tags", "summary", "description", "operationId", "security", "x-scope", "parameters", "requestBody", "responses",
)  # fmt: skip


def _operation(address: str, made: JsonSchema) -> JsonSchema:
    made["tags"] = [next(tag["name"] for tag in TOLD["tags"] if re.match(tag["of"], address))]
    made.setdefault("security", [])  # explicitly open to everyone
    if scopes := [scope for one in made["security"] for scope in one.get(SECURITY, ())]:
        made["x-scope"] = scopes[0]
        made["security"] = [{scheme: [] for scheme in one} for one in made["security"]]
    if not any(status.startswith("4") for status in made["responses"]):
        usual = HTTPStatus.NOT_FOUND if "{" in address else HTTPStatus.NOT_ACCEPTABLE
        made["responses"][str(usual.value)] = {"$ref": f"#/components/responses/{usual.name}"}
    made["responses"] = dict(sorted(made["responses"].items()))
    return _ordered(made, _OPERATION_ORDER)


def _words(**words: Iterable[str]) -> dict[tuple[Any, ...], str]:
    return {tuple(str(word) for word in each): name for name, each in words.items()}


NAMED = _words(
    Moment=Moment, Side=SIDES, Wing=Wing, Verdict=Verdict, Phase=Phase, Way=Way, Coaching=Coaching, Device=Device,
    CourtSide=COURTS, ServeNumber=QUALIFIERS["serve"], End=ENDS, WindDirection=DIRECTIONS, WingRule=WingRule,
)  # fmt: skip


def _name_words(made: JsonSchema) -> None:
    """Give each enum one name that all schemas refer to, so that generated clients share a type."""
    schemas, names = made["components"]["schemas"], dict(NAMED)
    taken, lists = {*schemas, *names.values()}, {}

    def name_of(words: tuple[Any, ...], owner: str, member: str) -> Any:
        if words not in names:
            short = "".join(part[:1].upper() + part[1:] for part in re.split(r"\W|_", member))
            name = next(name for name in (short, owner + short) if TOLD["names"].get(name, name) not in taken)
            names[words] = TOLD["names"].get(name, name)
            taken.add(names[words])
        return names[words]

    def visit(node: Any, owner: str, member: str) -> None:
        if isinstance(node, list):
            for below in node:
                visit(below, owner, member)
        elif isinstance(node, dict):
            words = tuple(word for word in node.get("enum", ()) if word is not None)
            if len(words) > 1:
                name = name_of(words, owner, member)
                lists[name] = {"type": "string" if isinstance(words[0], str) else "integer", "enum": list(words)}
                reference = {"$ref": f"#/components/schemas/{name}"}
                named = {"anyOf": [reference, {"type": "null"}]} if None in node["enum"] else reference
                rest = {key: below for key, below in node.items() if key not in ("enum", "type")}
                node.clear()
                node.update(named, **rest)
            for key, below in node.items():
                for name, one in below.items() if key == "properties" else ():
                    visit(one, owner, name)
                if key != "properties":
                    visit(below, owner, member)

    for name, schema in list(schemas.items()):
        visit(schema, name, name)
    for operation in _operations(made):
        for parameter in operation.get("parameters", ()):
            visit(parameter, operation["operationId"], parameter.get("name", ""))
    assert not lists.keys() & schemas.keys(), "an enum and a schema have the same name"
    made["components"]["schemas"] = dict(sorted({**schemas, **lists}.items()))


def _addition(schema: JsonSchema, base: JsonSchema, name: str) -> JsonSchema:
    """Return the members that a schema adds to its base, or the schema itself if it changes any or either is closed."""
    own, inherited = schema["properties"], base["properties"]
    if any(own.get(member) != shape for member, shape in inherited.items()):
        return schema
    if "additionalProperties" in base or not {*base.get("required", ())} <= {*schema.get("required", ())}:
        return schema
    added = {member: shape for member, shape in own.items() if member not in inherited}
    required = [member for member in schema.get("required", ()) if member not in base.get("required", ())]
    told = {"type": "object", "properties": added, **({"required": required} if required else {})}
    closed = {"unevaluatedProperties": False} if "additionalProperties" in schema else {}
    return {"allOf": [{"$ref": f"#/components/schemas/{name}"}, told], **closed}


def _share_parameters(made: JsonSchema) -> None:
    """Move each parameter shared by several paths or operations to the components."""
    lists = [one["parameters"] for one in (*made["paths"].values(), *_operations(made)) if "parameters" in one]
    for one in (one for each in lists for one in each):
        if one.get("required") is False:
            del one["required"]  # the default
    told = [json.dumps(one) for each in lists for one in each if "$ref" not in one]
    shared = {text: json.loads(text)["name"] for text in told if told.count(text) > 1}
    shared = {text: name for text, name in shared.items() if [*shared.values()].count(name) == 1}
    for each in lists:
        each[:] = [
            {"$ref": f"#/components/parameters/{shared[text]}"} if (text := json.dumps(one)) in shared else one
            for one in each
        ]
    made["components"]["parameters"].update({name: json.loads(text) for text, name in shared.items()})


def _open_answers(made: JsonSchema) -> None:
    """Allow unknown members in every object of a response, and only known members in requests."""
    schemas = made["components"]["schemas"]
    waiting = _references([made["components"]["responses"], *(one["responses"] for one in _operations(made))])
    reached: set[str] = set()
    while waiting:
        if (name := waiting.pop()) not in reached:
            reached.add(name)
            waiting += _references(schemas[name])
            for one in _objects(schemas[name]):
                if one.get("additionalProperties") is False:
                    del one["additionalProperties"]
    for operation in _operations(made):
        for content in operation.get("requestBody", {}).get("content", {}).values():
            if content["schema"].get("$ref", "").rpartition("/")[2] in reached:
                content["schema"]["unevaluatedProperties"] = False


def _operations(made: JsonSchema) -> list[JsonSchema]:
    return [path[method] for path in made["paths"].values() for method in path.keys() & METHODS]


def _objects(node: Any) -> Iterator[dict[str, Any]]:
    if isinstance(node, dict):
        yield node
    for below in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        yield from _objects(below)


def _references(node: Any) -> list[str]:
    named = (one["$ref"] for one in _objects(node) if isinstance(one.get("$ref"), str))
    return [reference.rpartition("/")[2] for reference in named if "/schemas/" in reference]


def _ordered(made: dict[str, Any], first: tuple[str, ...]) -> dict[str, Any]:
    return {**{name: made[name] for name in first if name in made}, **made}
