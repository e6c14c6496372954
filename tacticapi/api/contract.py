"""The published contract: OpenAPI 3.1 from the code, problem documents as errors, the vocabulary as schemas."""

import copy
import json
import re
from collections.abc import Iterable
from http import HTTPStatus
from typing import Any

import flask_smorest
from flask import Flask
from marshmallow import fields

from tacticapi.advice.suggestions import COURTS
from tacticapi.api.http.blueprint import ANY_VERSION, IDEMPOTENCY_KEY, SECURITY
from tacticapi.api.http.problems import MEDIA_TYPE, ProblemSchema
from tacticapi.api.situations import KindId, Profile
from tacticapi.club.services import MAX_KEY
from tacticapi.domain.rules import ObservationKind, Rulebook, WingRule
from tacticapi.domain.situation import Coaching, Device, Moment, Phase, Verdict, Way, Wing
from tacticapi.posted import DIRECTIONS, ENDS, FORMAT, MAX_TEXT, PROFILES, READINGS, kinds_of
from tacticapi.rulebook.conditions import MAX_RATING, QUALIFIERS
from tacticapi.scoring.formats import SIDES

Header = dict[str, Any]


def header(description: str, kind: str = "string") -> Header:
    """Return a header of an answer."""
    return {"description": description, "schema": {"type": kind}}


CHALLENGE = {"WWW-Authenticate": header("The scheme, and what is wrong with the token that was sent (RFC 6750).")}
RETRY = {"Retry-After": header("Seconds after which to ask again.", "integer")}
ETAG = {"ETag": header("The version that the client has.")}
HEADERS: dict[HTTPStatus, dict[str, Header]] = {
    HTTPStatus.NOT_MODIFIED: ETAG,
    HTTPStatus.METHOD_NOT_ALLOWED: {"Allow": header("The methods that the address takes.")},
}
SAYS: dict[HTTPStatus, str] = {
    HTTPStatus.NOT_MODIFIED: "The version in If-None-Match is current; there is no body.",
    HTTPStatus.PRECONDITION_FAILED: "It has changed since the version in If-Match: read it again.",
    HTTPStatus.PRECONDITION_REQUIRED: "Name the version that you read in If-Match.",
}
OTHERWISE = (
    "Any other problem. 400: the body is not JSON. 401: the token is missing or invalid. 403: its scope or the event "
    "does not permit it. 404: the club has no such thing. 429: too many requests; 503: it cannot be answered now; both "
    "with Retry-After."
)
ABOUT = {
    "summary": "What was seen of an unknown tennis opponent, turned into ranked and explained suggestions.",
    "description": """\
Post what was seen of an opponent; get a few suggestions, each with its reasons in counts, what it is worth, when to
look again, and its source or the words "common practice".

- Everything but `moment` is optional. Absent or null means unknown, not no. Unknown names are refused.
- The event's rules on coaching and analysis devices decide if advice may be used during play: post
  `context.coaching` and `context.device`. If they do not permit it, the answer is safety and a notice only.
- Safety comes before tactics and defers to local codes and licensed practice.
- Gains and thresholds are model defaults of this service, not measured results. Not for betting.
- Errors are problem documents (RFC 9457): every fault with the place in the body (RFC 6901) and what was expected.
- What is stored belongs to one club; a bearer token with the scope that the operation names opens it (RFC 6750).
  A service that only its own machine reaches needs none. What belongs to another club is not found.
- Players have a nickname or code. Entries of a match are added and corrected by further entries, never changed; send
  an Idempotency-Key with them, and a repeated request is added once.
- Polled answers carry an ETag for If-None-Match; a change of a player or a match names the version read in If-Match.
- Lists come in pages; the Link header names the next one. Answers about the rulebook carry an ETag and change only
  with the rules.
- /v1 only grows: ignore members and words of answers that you do not know. A member without a value is absent. What
  will be removed is marked `deprecated` first, and the changelog dates each change.
""",
    "contact": {"name": "The operator of this service"},
    "license": {"name": "MIT", "identifier": "MIT"},
}
JsonSchema = dict[str, Any]
_DEFAULTS = {"context.coaching": "unknown", "context.device": "unknown"}


def component_of(subject: str) -> str:
    """Return the name of the component that describes a subject."""
    return subject.capitalize()


def observation_ids(rulebook: Rulebook) -> list[str]:
    """Return the ids that are posted as observations, in vocabulary order."""
    return [kind.id for kind in rulebook.kinds.values() if kind.subject not in PROFILES]


def profile_components(rulebook: Rulebook) -> dict[str, JsonSchema]:
    """Return the objects `context`, `own` and `opponent`, and the match format, by the name of their component."""
    made = {}
    for subject in PROFILES:
        properties = {key: _item(kind) for key, kind in kinds_of(rulebook, subject).items()}
        if subject == "context":
            reference = {"anyOf": [{"$ref": "#/components/schemas/Format"}, {"type": "null"}]}
            properties[FORMAT] = {**reference, "description": "The format. Default: best of three tie-break sets."}
        made[component_of(subject)] = {
            "type": "object",
            "description": "Absent or null if unknown.",
            "properties": properties,
            "additionalProperties": False,
        }
    return {**made, "Format": _FORMAT, "Wind": _WIND, "Directions": _DIRECTIONS, "Heat": _HEAT}


def _item(kind: ObservationKind) -> JsonSchema:
    """Return one item; it may always be null."""
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


def _object(description: str, **properties: JsonSchema) -> JsonSchema:
    shape = {"type": "object", "properties": properties, "additionalProperties": False}
    return {"description": description, **shape}


def _one_of(*words: Any, default: Any = None, says: str | None = None) -> JsonSchema:
    kind = "string" if isinstance(words[0], str) else "integer"
    made: JsonSchema = {"type": [kind, "null"], "enum": [*words, None]}
    made.update({name: value for name, value in (("default", default), ("description", says)) if value is not None})
    return made


_DIRECTIONS = _object(
    "The direction as the observer feels it from each end. Absent or null if unknown.",
    **dict.fromkeys(ENDS, _one_of(*DIRECTIONS)),
)
_WIND = _object(
    "The wind in full. Absent or null if unknown.",
    strength={"type": "string", "enum": ["none", "light", "moderate", "strong"]},
    direction={"anyOf": [{"$ref": "#/components/schemas/Directions"}, {"type": "null"}]},
)
_WIND["required"] = ["strength"]
_HEAT = _object(
    "Air in °C, relative humidity in %, wet-bulb globe temperature in °C. Absent or null if unknown.",
    **{
        name: {"type": ["number", "null"], "minimum": low, "maximum": high} for name, (low, high, _) in READINGS.items()
    },
)
_OBJECTS = {"context.wind": "Wind", "context.heat": "Heat"}
_FINAL_SETS = ("tie-break-7", "tie-break-10", "advantage", "match-tie-break-7", "match-tie-break-10")
_FORMAT = _object(
    "The match format. Absent or null fields take their defaults.",
    sets=_one_of(1, 3, 5, default=3, says="Best of 1, 3 or 5 sets."),
    games=_one_of(4, 6, default=6, says="Games that win a set."),
    tie_break_at={
        "type": ["integer", "null"],
        "minimum": 3,
        "maximum": 6,
        "description": "Games all at which the tie-break is played: `games`, or one fewer. Default: `games`.",
    },
    set=_one_of("tie-break-7", "advantage", default="tie-break-7", says="Every set but the last possible one."),
    final_set=_one_of(*_FINAL_SETS, says="The last possible set. Default: as every other set."),
    no_ad={"type": ["boolean", "null"], "default": False, "description": "Whether one point decides at deuce."},
    tie_break_points=_one_of(5, 7, says="Points of the ordinary tie-break. Default: 7, in short sets 5."),
    tie_break_ends=_one_of(
        "every-6", "after-1-then-every-4", default="every-6", says="When ends change within a tie-break."
    ),
)
EXTENSION = "tacticapi-contract"
METHODS = frozenset({"get", "post", "patch", "put", "delete"})
TOKEN = {
    "type": "http",
    "scheme": "bearer",
    "description": "A token of a club (RFC 6750). The operation names the scope that it takes: observe, advise, read "
    "or manage. One of the scope court does everything at the address of its match but delete it, gives feedback on "
    "its advice, and reads its players. A service that only its own machine reaches needs none.",
}
KEY = {
    "name": "Idempotency-Key",
    "description": "A key of the client's own. What comes again with it and the same body is done once and answered as "
    "before; with another body it is refused. Known for seven days.",
    "schema": {"type": "string", "minLength": 1, "maxLength": MAX_KEY},
}
VERSION = {
    "name": "If-Match",
    "description": "The ETag of what was read, to act on this version only. Default: any version.",
    "schema": {"type": "string"},
}


class Contract(flask_smorest.Api):
    """Registers blueprints and describes them. Errors are handled by the application, not here."""

    def __init__(self, app: Flask, rulebook: Rulebook) -> None:
        """Describe the application by what this rulebook knows."""
        options = {"info": ABOUT, "servers": [{"url": "/"}]}
        self._ids = observation_ids(rulebook)
        super().__init__(app, spec_kwargs=options)
        app.extensions[EXTENSION] = self
        for name, component in profile_components(rulebook).items():
            self.spec.components.schema(name, component)
        self.spec.components.security_scheme(SECURITY, TOKEN)
        self.spec.components.parameter(IDEMPOTENCY_KEY, "header", KEY, lazy=True)
        self.spec.components.parameter(ANY_VERSION, "header", VERSION, lazy=True)
        self.spec.components.header("LOCATION", header("The address of the new resource."), lazy=True)
        self.spec.components.header("LINK", header("The next page (RFC 8288); absent on the last one."), lazy=True)

    def _init_spec(self, **options: Any) -> None:
        super()._init_spec(**options)
        self.ma_plugin.converter.add_attribute_function(self._vocabulary2properties())

    def _vocabulary2properties(self) -> Any:
        ids = self._ids

        def vocabulary2properties(converter: Any, field: fields.Field[Any], **kwargs: Any) -> dict[str, Any]:
            """Return what the rulebook says about a field: the ids it takes, or the names of an object."""
            if isinstance(field, KindId):
                return {"enum": ids}
            names = (
                [component_of(field.subject)] if isinstance(field, Profile) else field.metadata.get("components", ())
            )
            forms = [{"$ref": f"#/components/schemas/{name}"} for name in names]
            if len(forms) == 1 and not field.allow_none:
                return forms[0]
            return {"anyOf": [*forms, {"type": "null"}] if field.allow_none else forms} if forms else {}

        return vocabulary2properties

    def _inherit(self, made: Header) -> None:
        """Let a schema refer to the one that it extends, and list only what it adds, if both are open."""
        schemas = made["components"]["schemas"]
        known = {key[0]: name for key, name in self.ma_plugin.converter.refs.items()}
        bases = {
            name: next((known[one] for one in shape.__mro__[1:] if one in known), "") for shape, name in known.items()
        }
        made["components"]["schemas"] = {
            name: _addition(schema, schemas[base], base) if (base := bases.get(name)) and base in schemas else schema
            for name, schema in schemas.items()
        }

    def _register_error_handlers(self) -> None:
        """Leave errors to the application, which writes problem documents."""

    def _register_responses(self) -> None:
        for status in HTTPStatus:
            response: dict[str, Any] = {"description": SAYS.get(status, status.phrase)}
            if status in HEADERS:
                response["headers"] = HEADERS[status]
            if status >= 400:
                response["content"] = {MEDIA_TYPE: {"schema": ProblemSchema}}
            named_later = status in (HTTPStatus.NOT_FOUND, HTTPStatus.NOT_ACCEPTABLE)
            self.spec.components.response(status.name, response, lazy=not named_later)
        content = {MEDIA_TYPE: {"schema": ProblemSchema}}
        problem = {"description": OTHERWISE, "headers": {**CHALLENGE, **RETRY}, "content": content}
        self.spec.components.response(self.DEFAULT_ERROR_RESPONSE_NAME, problem, lazy=True)

    def described(self) -> dict[str, Any]:
        """Return the contract without examples, its parts in the order in which they are read."""
        made: dict[str, Any] = copy.deepcopy(self.spec.to_dict())
        made["info"] = _ordered(made["info"], ("title", "version"))
        made["components"]["schemas"].pop("PaginationMetadata", None)  # of the library's own paging, which is not used
        made["tags"] = [{"name": name, "description": says} for name, says, _ in TAGS]
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
TAGS = (  # of the first pattern that an address fits
    (
        "suggestions",
        "Ranked and explained suggestions on what is posted. Nothing is stored.",
        "/v1/(suggestions|explanations)",
    ),
    (
        "calculations",
        "What a model makes of a score, a shot, a stand or a gap: no promise, and not for betting. Nothing is kept. In "
        "a match, say `moment` and `context`: where the event permits nothing, only a notice stands, no picture (403).",
        "/v1/calculations",
    ),
    ("players", "Players of the club and opponents, by nickname or code.", "/v1/(by-external-id/)?players"),
    ("observations", "What was seen in a match. Entries are added, never changed.", ".*/observations"),
    ("points", "Points of a match; the score follows from them.", ".*/(points|score)"),
    ("tries", "Tactics tried in a match. Tries of one tactic add up.", ".*/tries"),
    (
        "advice",
        "Advice on a match from everything stored of it, and what became of it.",
        ".*/(suggestions|advice|feedback)",
    ),
    ("pictures", "Pictures of a match, and a plan card to print.", "/v1/matches.*/(pictures|card)"),
    ("matches", "Matches of the club, from the start to the debrief.", "/v1/(by-external-id/)?matches"),
    (
        "club",
        "The club of the token: retention, export and import, tokens.",
        "/v1/(club|tokens|court-tokens)",
    ),
    ("rulebook", "What can be seen, what may be true of an opponent, what can be advised, and the sources.", "/v1/"),
    ("service", "The service itself: contract, problems, health and counts.", "/"),
)


def _operation(address: str, made: Header) -> Header:
    """Return an operation with its tag and who may ask."""
    made["tags"] = [next(name for name, _, pattern in TAGS if re.match(pattern, address))]
    made.setdefault("security", [])  # open to everyone, and said so
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
BETTER_NAMES = {
    "What": "ObservationKind", "Name": "PatternName", "From": "SpreadSource", "Show": "ShownAs", "On": "TriedOn",
    "Points": "PointsOf", "At": "StandAt", "Set": "SetKind", "Status": "MatchStatus", "Ball": "BallType",
    "Size": "WorthSize", "Outcomes": "Outcome", "NewFeedbackKind": "FeedbackKind", "ContextHeat": "HeatLevel",
    "ContextWind": "WindStrength", "ShotMarginQuestionLevel": "SpreadLevel", "TacticVerdictVerdict": "WhyVerdict",
    "Scopes": "Scope",
}  # fmt: skip


def _name_words(made: Header) -> None:
    """Give each list of words one name by which all schemas refer to it, so that generated clients share a type."""
    schemas, names = made["components"]["schemas"], dict(NAMED)
    taken, lists = {*schemas, *names.values()}, {}

    def name_of(words: tuple[Any, ...], owner: str, member: str) -> Any:
        if words not in names:
            short = _camel(member)
            name = next(name for name in (short, owner + short) if BETTER_NAMES.get(name, name) not in taken)
            names[words] = BETTER_NAMES.get(name, name)
            taken.add(names[words])
        return names[words]

    def visit(node: Any, owner: str, member: str) -> None:
        if isinstance(node, list):
            for below in node:
                visit(below, owner, member)
        elif isinstance(node, dict):
            words = (
                tuple(word for word in node["enum"] if word is not None) if isinstance(node.get("enum"), list) else ()
            )
            if len(words) > 1:
                name = name_of(words, owner, member)
                lists[name] = {"type": "string" if isinstance(words[0], str) else "integer", "enum": list(words)}
                null = None in node.pop("enum")
                del node["type"]
                rest = dict(node)
                node.clear()
                reference = {"$ref": f"#/components/schemas/{name}"}
                node.update({"anyOf": [reference, {"type": "null"}]} if null else reference, **rest)
            for key, below in node.items():
                for name, one in below.items() if key == "properties" else ():
                    visit(one, owner, name)
                if key not in ("properties", "example", "examples", "default"):
                    visit(below, owner, below["name"] if key == "schema" and "name" in below else member)

    for name, schema in list(schemas.items()):
        visit(schema, name, name)
    for path in made["paths"].values():
        for method in path.keys() & METHODS:
            for parameter in path[method].get("parameters", ()):
                visit(parameter, path[method]["operationId"], parameter.get("name", ""))
    assert not lists.keys() & schemas.keys(), "a list of words and a schema of one name"
    made["components"]["schemas"] = dict(sorted({**schemas, **lists}.items()))


def _camel(name: str) -> str:
    return "".join(part[:1].upper() + part[1:] for part in re.split(r"\W|_", name))


def _addition(schema: JsonSchema, base: JsonSchema, name: str) -> JsonSchema:
    """Return what a schema adds to its base; the schema itself if it changes any of it, or either is closed."""
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


def _share_parameters(made: Header) -> None:
    """Move each parameter that several addresses or operations share to the components."""
    paths = made["paths"].values()
    holders = [*paths, *(path[method] for path in paths for method in path.keys() & METHODS)]
    lists = [one["parameters"] for one in holders if "parameters" in one]
    for one in (one for each in lists for one in each):
        if one.get("required") is False:
            del one["required"]  # so by default
    told = [json.dumps(one) for each in lists for one in each if "$ref" not in one]
    shared = {text: json.loads(text)["name"] for text in told if told.count(text) > 1}
    shared = {text: name for text, name in shared.items() if [*shared.values()].count(name) == 1}
    for each in lists:
        each[:] = [
            {"$ref": f"#/components/parameters/{shared[text]}"} if (text := json.dumps(one)) in shared else one
            for one in each
        ]
    made["components"]["parameters"].update({name: json.loads(text) for text, name in shared.items()})


def _open_answers(made: Header) -> None:
    """Let every object of an answer hold members that this version does not know; a request's take no other."""
    schemas = made["components"]["schemas"]
    operations = [path[method] for path in made["paths"].values() for method in path.keys() & METHODS]
    waiting = [*_references([one["responses"] for one in operations]), *_references(made["components"]["responses"])]
    reached: set[str] = set()
    while waiting:
        if (name := waiting.pop()) not in reached:
            reached.add(name)
            _open(schemas[name])
            waiting += _references(schemas[name])
    for one in operations:
        for content in one.get("requestBody", {}).get("content", {}).values():
            if content["schema"].get("$ref", "").rpartition("/")[2] in reached:
                content["schema"]["unevaluatedProperties"] = False


def _open(node: Any) -> None:
    if isinstance(node, dict):
        if node.get("additionalProperties") is False:
            del node["additionalProperties"]
        node = list(node.values())
    for below in node if isinstance(node, list) else ():
        _open(below)


def _references(node: Any) -> list[str]:
    """Return the names of the schemas that a part of the contract refers to."""
    if isinstance(node, dict):
        named = node.get("$ref", "")
        own = [named.rpartition("/")[2]] if isinstance(named, str) and "/schemas/" in named else []
        return own + [name for below in node.values() for name in _references(below)]
    return [name for below in node for name in _references(below)] if isinstance(node, list) else []


def _ordered(made: dict[str, Any], first: tuple[str, ...]) -> dict[str, Any]:
    return {**{name: made[name] for name in first if name in made}, **made}
