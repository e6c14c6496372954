"""One blueprint a noun, with the strict parser, scopes, and answers that stand as long as the rulebook stands."""

from collections.abc import Callable
from functools import wraps
from http import HTTPStatus
from typing import Any, cast

import flask_smorest
from flask import Response, jsonify, request

from tacticapi import __version__
from tacticapi.api.auth import require
from tacticapi.api.deployment import deployment
from tacticapi.api.limits import UNLIMITED
from tacticapi.api.parsing import BodyParser, StrictParser
from tacticapi.api.problems import CHANGED, ProblemError, http_problem

SECURITY = "bearer"
IF_MATCH, IF_NONE_MATCH, IDEMPOTENCY_KEY = "IF_MATCH", "IF_NONE_MATCH", "IDEMPOTENCY_KEY"  # components of the contract
_STATUSES = {IF_MATCH: (412, 428), IF_NONE_MATCH: (304,), IDEMPOTENCY_KEY: ()}
LOCATED = {"Location": {"description": "The address of what was made.", "schema": {"type": "string"}}}
LOCATED_VERSION = {**LOCATED, "ETag": "ETAG"}
LINK = {"description": "The next page (rel=next, RFC 8288); absent on the last one.", "schema": {"type": "string"}}
View = Callable[..., Any]


class Noun(flask_smorest.Blueprint):
    """The routes of one noun."""

    ARGUMENTS_PARSER = StrictParser()

    def __init__(
        self, name: str, description: str, *, of_the_rulebook: bool = False, closable: str | None = None
    ) -> None:
        """Name the noun.

        of_the_rulebook: answers to GET carry the rulebook's ETag and may be revalidated by it.
        closable: the scope that a request needs where the deployment requires tokens for what keeps nothing.
        """
        super().__init__(name, f"tacticapi.api.{name}", description=description)
        self._of_the_rulebook, self._closable = of_the_rulebook, closable
        self._prepare_doc_cbks.append(self._prepare_problems_doc)
        if of_the_rulebook:
            self.after_request(stamped)
        if closable:
            self.before_request(self._require_where_closed)

    def _require_where_closed(self) -> None:
        if self._closable and deployment().require_tokens:
            require(self._closable)

    def _prepare_problems_doc(self, doc: dict[str, Any], doc_info: Any, **kwargs: Any) -> dict[str, Any]:
        """Say which problems an operation answers with, and how it is revalidated."""
        by_hand = doc_info.get("manual_doc", {})
        statuses = [406] if f"{self.name}." in UNLIMITED else [406, 429]
        if "requestBody" in {**doc, **by_hand}:
            statuses += [400, 413, 415]
        if "requestBody" in by_hand:
            statuses.append(422)
        if "security" in by_hand:
            statuses += [401, 403, 503]
        elif self._closable:
            doc["security"] = [{}, {SECURITY: [self._closable]}]
            statuses += [401, 403]
        if self._of_the_rulebook:
            statuses.append(304)
            doc.setdefault("parameters", []).append("IF_NONE_MATCH")
            doc["responses"][200].setdefault("headers", {})["ETag"] = "ETAG"
        for header in doc_info.get("headers", ()):
            statuses += _STATUSES[header]
            doc.setdefault("parameters", []).append(header)
            if header is not IDEMPOTENCY_KEY:
                doc["responses"][200].setdefault("headers", {})["ETag"] = "ETAG"
        if any("cursor" in getattr(one.get("schema"), "_declared_fields", ()) for one in _queries(doc)):
            doc["responses"][200].setdefault("headers", {})["Link"] = LINK
        for status in statuses:
            doc["responses"][status] = HTTPStatus(status).name
        return doc


class KeptNoun(Noun):
    """The routes of one noun that is kept for a club."""

    ARGUMENTS_PARSER = BodyParser()

    def needs(self, scope: str, *headers: str) -> Callable[[View], View]:
        """Let a view answer only a request whose token has this scope. Stands right below the route.

        `headers` name the components that describe the headers which the view reads.
        """

        def closed(view: View) -> View:
            @wraps(view)
            def checked(*args: Any, **kwargs: Any) -> Any:
                require(scope)
                return view(*args, **kwargs)

            described: Any = self.doc(security=[{SECURITY: [scope]}])(checked)
            described._apidoc["headers"] = headers
            return cast(View, described)

        return closed


def _queries(doc: dict[str, Any]) -> list[dict[str, Any]]:
    """The parameters of an operation that a schema of the query describes."""
    return [one for one in doc.get("parameters", ()) if isinstance(one, dict) and one.get("in") == "query"]


def answer(body: Any, status: int = 200) -> Response:
    """A JSON answer, its keys in the order in which they were made."""
    response = jsonify(body)
    response.status_code = status
    return response


def stamped(response: Response) -> Response:
    """The answer with the ETag of the rulebook; 304 without a body where the client holds it already.

    An answer about the rulebook changes with its address, the rules and the code that writes it, and nothing else.
    """
    if response.status_code != 200:
        return response
    response.set_etag(f"{deployment().rulebook.digest.removeprefix('sha256:')[:32]}-{__version__}")
    response.cache_control.no_cache = True
    response.make_conditional(request)
    return http_problem(ProblemError(CHANGED)) if response.status_code == 412 else response
