"""Define blueprints: strict parsing, scopes, media types, and responses that change only with the rulebook."""

import re
from collections.abc import Callable
from functools import cache, wraps
from http import HTTPStatus
from typing import Any, TypeVar, cast

import flask_smorest
from flask import Response, current_app, jsonify, request
from jinja2 import Environment, PackageLoader, StrictUndefined, Template, Undefined, select_autoescape
from werkzeug.datastructures import MIMEAccept
from werkzeug.routing import BaseConverter

from tacticapi import __version__
from tacticapi.api.http.access import require
from tacticapi.api.http.bodies import BodyParser, StrictParser
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import Shape
from tacticapi.api.http.problems import MEDIA_TYPE, ProblemError, http_problem, refuse
from tacticapi.pictures.svg import alone
from tacticapi.rulebook.files import Fault


class IdConverter(BaseConverter):
    """A path converter for a UUID in lower case, the form used in responses."""

    regex = "[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"


JSON, MARKDOWN, HTML, JSON_LINES, TEXT = (
    "application/json", "text/markdown", "text/html", "application/x-ndjson", "text/plain",
)  # fmt: skip
USUAL = (JSON, MEDIA_TYPE)
SVG = "image/svg+xml"
PICTURE_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
View = TypeVar("View", bound=Callable[..., Any])


def offers(*media_types: str) -> Callable[[View], View]:
    """Let a view respond in these media types; the first is the default. It must be the innermost decorator."""

    def offering(view: View) -> View:
        vars(view)["_apidoc"] = {"offered": media_types}
        return view

    return offering


def offered_here() -> tuple[str, ...]:
    """Return the media types that the requested address offers, including problem documents."""
    view = current_app.view_functions.get(request.endpoint or "")
    own = offered_by(view)
    return (*own, MEDIA_TYPE) if own else USUAL


def offered_by(view: Any) -> tuple[str, ...]:
    """Return the media types that a view offers; empty if it uses the default ones."""
    offered: tuple[str, ...] = getattr(view, "_apidoc", {}).get("offered", ())
    return offered


def wanted(*media_types: str) -> str:
    """Choose the media type for the response from those that the view offers."""
    return accepted().best_match(media_types) or media_types[0]


def accepted() -> MIMEAccept:
    """Return the accepted media types without parameters, because all text is UTF-8."""
    return MIMEAccept([(sent.partition(";")[0].strip(), weight) for sent, weight in request.accept_mimetypes])


UNLIMITED = "health."  # rate limits must not shut out the service's monitoring
SECURITY = "bearer"
IF_MATCH, IF_NONE_MATCH, IDEMPOTENCY_KEY, ANY_VERSION = "IF_MATCH", "IF_NONE_MATCH", "IDEMPOTENCY_KEY", "ANY_VERSION"
_STATUSES = {IF_MATCH: (412, 428), IF_NONE_MATCH: (304,), IDEMPOTENCY_KEY: (), ANY_VERSION: (412,)}
LOCATED = {"Location": "LOCATION"}
LOCATED_VERSION = {**LOCATED, "ETag": "ETAG"}


class Blueprint(flask_smorest.Blueprint):
    """The routes of one resource."""

    ARGUMENTS_PARSER = StrictParser()

    def __init__(
        self, name: str, *, of_the_rulebook: bool = False, closable: str | None = None, costly: bool = False
    ) -> None:
        """Name the resource.

        of_the_rulebook: GET responses carry the rulebook's ETag. closable: the scope that requests need if the
        deployment requires tokens even when nothing is stored. costly: they also need it once any club has a token.
        """
        super().__init__(name, f"tacticapi.api.{name}")
        self._of_the_rulebook, self._closable, self._costly = of_the_rulebook, closable, costly
        self._without_query: set[str] = set()
        self.before_request(self._refuse_query)
        self._prepare_doc_cbks.append(self._prepare_problems_doc)
        if of_the_rulebook:
            self.after_request(stamped)
        if closable:
            self.before_request(self._require_where_closed)

    def add_url_rule(
        self, rule: str, endpoint: Any = None, view_func: Any = None, *args: Any,
        scope: str | None = None, reads: str | None = None, conflict: bool = False, **options: Any,
    ) -> None:  # fmt: skip
        """Register a view, with an operation id from its name or endpoint: `add_point` becomes addPoint.

        scope: the scope that a token needs. reads: the contract component for the header that the view reads. conflict:
        the view may also respond with 409.
        """
        name = endpoint or view_func.__name__
        first, *more = name.split("_")
        told: dict[str, Any] = {"operationId": "".join((first, *map(str.title, more)))}
        if scope:
            told |= {"security": [{SECURITY: [scope]}], "responses": {409: "CONFLICT"} if conflict else {}}
        described: Any = self.doc(**told)(_closed(view_func, scope) if scope else view_func)
        described._apidoc["reads"] = reads
        if not any(one.get("in") == "query" for one in described._apidoc.get("arguments", {}).get("parameters", ())):
            self._without_query.add(f"{self.name}.{name}")
        super().add_url_rule(rule, endpoint, described, *args, **options)

    def query(self, base: type[Shape] = Shape, **parameters: Any) -> Callable[[View], View]:
        """Let a view accept these query parameters, after those of `base`."""
        shape: type[Shape] = type("Query", (base,), parameters)
        return cast(Callable[[View], View], self.arguments(shape, location="query"))

    def _refuse_query(self) -> None:
        if request.args and request.endpoint in self._without_query:
            refuse(
                "invalid-query", faults=[Fault((name,), value, "no parameter") for name, value in request.args.items()]
            )

    def _require_where_closed(self) -> None:
        if self._closable and (deployment().require_tokens or (self._costly and deployment().has_tokens())):
            require(self._closable)

    def _prepare_problems_doc(self, doc: dict[str, Any], doc_info: Any, **kwargs: Any) -> dict[str, Any]:
        """Describe an operation's problems beyond the default ones, and its revalidation headers."""
        statuses = [422] if "requestBody" in doc_info.get("manual_doc", {}) else []
        if self._closable:
            doc["security"] = [{}, {SECURITY: [self._closable]}]
        if self._of_the_rulebook:
            statuses.append(304)
            doc.setdefault("parameters", []).append("IF_NONE_MATCH")
            doc["responses"][200].setdefault("headers", {})["ETag"] = "ETAG"
        if header := doc_info["reads"]:
            statuses += _STATUSES[header]
            doc.setdefault("parameters", []).append(header)
            if header is not IDEMPOTENCY_KEY and 200 in doc["responses"]:
                doc["responses"][200].setdefault("headers", {})["ETag"] = "ETAG"
        described = [one["schema"] for one in doc.get("parameters", ()) if isinstance(one, dict) and "schema" in one]
        if any("cursor" in getattr(schema, "_declared_fields", ()) for schema in described):
            doc["responses"][200].setdefault("headers", {})["Link"] = "LINK"
        if offered := doc_info.get("offered"):
            content = doc["responses"][200].setdefault("content", {})
            for media_type in offered:
                one = {"type": "object" if media_type.endswith(("/json", "+json")) else "string"}
                several = JSON_LINES in offered and media_type == JSON
                content.setdefault(media_type, {"schema": {"type": "array", "items": one} if several else one})
        for status in statuses:
            doc["responses"][status] = HTTPStatus(status).name
        return doc


class KeptBlueprint(Blueprint):
    """The routes of one resource that is stored for a club."""

    ARGUMENTS_PARSER = BodyParser()


def _closed(view: View, scope: str) -> View:
    @wraps(view)
    def checked(*args: Any, **kwargs: Any) -> Any:
        require(scope)
        return view(*args, **kwargs)

    return cast(View, checked)


def answer(body: Any, status: int = 200) -> Response:
    """Return a JSON response with its keys in insertion order."""
    response = jsonify(body)
    response.status_code = status
    return response


def stamped(response: Response) -> Response:
    """Return the response with the rulebook's ETag, or 304 without a body if the client has it already."""
    if response.status_code != 200:
        return response
    response.set_etag(f"{deployment().rulebook.digest.removeprefix('sha256:')[:32]}-{__version__}")
    response.cache_control.no_cache = True
    response.make_conditional(request)
    return http_problem(ProblemError("changed-meanwhile")) if response.status_code == 412 else response


_SPECIAL = re.compile(r"([\\`*_\[\]<>|~&#!])")
_BREAKS = re.compile(r"\s+")


def plain(text: object) -> str:
    """Return the text on one line, with Markdown's special characters escaped."""
    return _SPECIAL.sub(r"\\\1", _BREAKS.sub(" ", str(text)).strip())


@cache
def template(name: str, undefined: type[Undefined] = StrictUndefined) -> Template:
    """Return a template for a page or for Markdown. It escapes all text and fails on undefined names."""
    made = Environment(
        loader=PackageLoader("tacticapi.api"),
        autoescape=select_autoescape(),
        undefined=undefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=None if name.endswith(".html") else plain,
        keep_trailing_newline=True,
    )
    return made.get_template(name)


def html_answer(page: str, policy: str = PICTURE_POLICY) -> Response:
    """Return a page as a response. The page can neither run scripts nor request anything."""
    return Response(page, mimetype=HTML, headers={"Content-Security-Policy": policy})


def picture_answer(drawn: str) -> Response:
    """Return a picture as a response. If opened in a browser, it can neither run scripts nor request anything."""
    return Response(alone(drawn), mimetype=SVG, headers={"Content-Security-Policy": PICTURE_POLICY})
