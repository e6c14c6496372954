"""Routes that describe the service: contract, reference page, problem types and API catalogue (RFC 9727)."""

from base64 import b64encode
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any, cast

from flask import Response, current_app, request
from jinja2 import Undefined
from markdown_it import MarkdownIt
from markupsafe import Markup
from marshmallow import fields

from tacticapi.api.contract import EXTENSION, METHODS, Contract
from tacticapi.api.http.blueprint import HTML, JSON, PICTURE_POLICY, Blueprint, answer, html_answer, offers, template
from tacticapi.api.http.fields import Answer, Shape, a_count, a_text, hosted
from tacticapi.api.http.problems import PROBLEMS, refuse

JsonSchema = dict[str, Any]


class ProblemKindSchema(Answer):
    """A problem type."""

    type = a_text("The URI reference of this type, as in problem documents.", of=lambda problem: hosted(problem.type))
    status = a_count("The HTTP status.")
    title = a_text("What is wrong.")
    mend = a_text("What the client should do.")


class ProblemKindsSchema(Shape):
    """All problem types that this service reports."""

    items = fields.List(fields.Nested(ProblemKindSchema), required=True)


ADDRESS = "/.well-known/api-catalog"
PROFILE = "https://www.rfc-editor.org/info/rfc9727"
LINKSET = "application/linkset+json"
OPENAPI = "application/vnd.oai.openapi+json;version=3.1"


def catalog(root: str) -> dict[str, Any]:
    """Return the linkset for the service at `root`, an address without a trailing slash."""
    of_the_api = {
        "anchor": f"{root}/v1",
        "service-desc": [{"href": f"{root}/openapi.json", "type": OPENAPI}],
        "service-doc": [{"href": f"{root}/docs", "type": "text/html"}],
        "status": [{"href": f"{root}/readyz", "type": "application/json"}],
    }
    return {"linkset": [{"anchor": f"{root}{ADDRESS}", "item": [{"href": f"{root}/v1"}]}, of_the_api]}


STYLE = Path(__file__).with_name("templates").joinpath("reference.css").read_text(encoding="utf-8")
_HASH = b64encode(sha256(STYLE.encode()).digest()).decode()
# allow the empty icon; without it, browsers request one
POLICY = PICTURE_POLICY.replace("'unsafe-inline'", f"'sha256-{_HASH}'; img-src data:")
_IN_CONTRACT = "#/components/"


def reference_page(contract: dict[str, Any]) -> str:
    """Return an OpenAPI document as a page. All text is escaped."""
    markdown = MarkdownIt("commonmark", {"html": False})  # descriptions are Markdown; HTML in them is escaped
    return template("reference.html", Undefined).render(
        info=contract["info"],
        groups=[(tag, _operations(contract, tag["name"])) for tag in contract["tags"]],
        schemas=sorted(contract["components"]["schemas"].items()),
        style=Markup(STYLE),  # our own, allowed in POLICY by its hash  # nosec B704
        kind=kind,
        rows=rows,
        blocks=lambda text: Markup(markdown.render(text or "")),  # nosec B704
        line=lambda text: Markup(markdown.renderInline(text or "")),  # nosec B704
        name_of=name_of,
        resolved=lambda part: resolved(contract, part),
    )


def _operations(contract: dict[str, Any], tag: str) -> list[tuple[str, str, Any]]:
    return [
        (method.upper(), address, operation)
        for address, path in contract["paths"].items()
        for method, operation in path.items()
        if method in METHODS and tag in operation["tags"]
    ]


def resolved(contract: dict[str, Any], part: Any) -> Any:
    """Return a parameter or response, following references."""
    while "$ref" in part:
        group, _, name = part["$ref"].removeprefix(_IN_CONTRACT).partition("/")
        part = contract["components"][group][name]
    return part


def name_of(reference: str) -> str:
    """Return the name of the schema that a reference points to."""
    return reference.rpartition("/")[2]


def kind(shape: Any) -> list[tuple[str, str | None]]:
    """Return a value's types in words, each with the schema that it refers to, if any."""
    if "$ref" in shape:
        return [(name_of(shape["$ref"]), name_of(shape["$ref"]))]
    for name in ("anyOf", "oneOf", "allOf"):
        if name in shape:
            return [word for one in shape[name] for word in kind(one)]
    if "enum" in shape:
        return [(" · ".join("null" if word is None else str(word) for word in shape["enum"]), None)]
    types = shape.get("type", "any")
    words = " or ".join([types] if isinstance(types, str) else types)
    if "items" in shape:
        return [(f"{words} of", None), *kind(shape["items"])]
    return [(f"{words}{_bounds(shape)}", None)]


def _bounds(shape: JsonSchema) -> str:
    told = [f"{word} {shape[name]:,}" for name, word in _BOUNDS.items() if isinstance(shape.get(name), (int, float))]
    return f" ({', '.join(told)})" if told else ""


_BOUNDS = {"minimum": "from", "maximum": "to", "minLength": "characters from", "maxLength": "characters up to"}


def rows(schema: JsonSchema) -> list[tuple[str, bool, JsonSchema]]:
    """Return an object's fields: name, whether it is required, and shape."""
    own = [part for part in schema.get("allOf", [schema]) if "properties" in part]  # without those that it extends
    return [(name, name in one.get("required", ()), part) for one in own for name, part in one["properties"].items()]


blueprint = Blueprint("reference", of_the_rulebook=True)


@blueprint.route("/openapi.json")
@blueprint.response(200, description="An OpenAPI 3.1 document.")
@offers(JSON)
def get_contract() -> Response:
    """Get this deployment's contract.

    The contract includes the vocabulary of the rules in use, including house rules.
    """
    told = _once("contract", lambda: current_app.json.dumps(_described()))
    at_root, here = (current_app.json.dumps([{"url": url}]) for url in ("/", request.script_root or "/"))
    return Response(told.replace(at_root, here, 1), mimetype=JSON)


@blueprint.route("/docs")
@blueprint.response(200, description="The page.")
@offers(HTML)
def get_reference() -> Response:
    """Get the contract as a page to read.

    The page is self-contained: no scripts, and nothing loaded from elsewhere.
    """
    return html_answer(_once("page", lambda: reference_page(_described())), POLICY)


@blueprint.route("/problems")
@blueprint.response(200, ProblemKindsSchema, description="The problem types.")
def list_problem_kinds() -> Response:
    """List the problem types.

    Each type comes with its meaning and what to do about it.
    """
    return answer({"items": [ProblemKindSchema.written(problem) for problem in PROBLEMS]})


@blueprint.route("/problems/<name>")
@blueprint.response(200, ProblemKindSchema, description="The problem type.")
def get_problem_kind(name: str) -> Response:
    """Get one problem type.

    The `type` of a problem document points here.
    """
    found = [problem for problem in PROBLEMS if problem.name == name] or refuse("not-found", "see /problems")
    return answer(ProblemKindSchema.written(*found))


@blueprint.route(ADDRESS)
@blueprint.response(200, description="The linkset.", headers={"Link": {"schema": {"type": "string"}}})
@offers(LINKSET)
def get_catalog() -> Response:
    """Get the addresses of the contract, the reference and the health check.

    The response is a linkset (RFC 9264) with the API catalogue profile (RFC 9727).
    """
    response = answer(catalog(request.url_root.rstrip("/")))
    response.content_type = f'{LINKSET}; profile="{PROFILE}"'
    response.headers["Link"] = f'<{hosted(ADDRESS)}>; rel="api-catalog"'
    return response


def _once(name: str, make: Callable[[], str]) -> str:
    made: dict[str, str] = current_app.extensions.setdefault("tacticapi-reference", {})
    if name not in made:
        made[name] = make()
    return made[name]


def _described() -> dict[str, Any]:
    return cast(Contract, current_app.extensions[EXTENSION]).described()
