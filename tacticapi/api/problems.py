"""The one error shape: problem documents (RFC 9457), every fault with its place and what was expected."""

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

from flask import Response, current_app, jsonify
from werkzeug.exceptions import HTTPException
from werkzeug.http import HTTP_STATUS_CODES

from tacticapi.knowledge import Fault
from tacticapi.knowledge.mistakes import pointer_text

MEDIA_TYPE = "application/problem+json"
MOST_ERRORS = 100  # a document stays readable; `detail` says how many more there are
LONGEST_TEXT = 60


@dataclass(frozen=True, slots=True)
class Problem:
    """A type of problem: its relative URI reference, its status and its title."""

    type: str
    status: int
    title: str


BROKEN_REQUEST = Problem("/problems/broken-request", 400, "The request is no HTTP that can be read")
INVALID_JSON = Problem("/problems/invalid-json", 400, "The body is no JSON that everyone reads alike")
INVALID_SITUATION = Problem("/problems/invalid-situation", 422, "The situation holds what cannot be")
INVALID_BODY = Problem("/problems/invalid-body", 422, "The body holds what cannot be, or cannot follow what is kept")
INVALID_HEADER = Problem("/problems/invalid-header", 422, "A header holds what cannot be")
INVALID_QUERY = Problem("/problems/invalid-query", 422, "The query holds what cannot be")
TOO_MANY_MATCHES = Problem("/problems/too-many-matches", 422, "The situation fits the rules in too many ways")
KEY_REUSED = Problem("/problems/idempotency-key-reused", 422, "The idempotency key came with another request before")
NO_TOKEN = Problem("/problems/token-needed", 401, "This takes a bearer token that is known and still valid")
NO_SCOPE = Problem("/problems/insufficient-scope", 403, "This token does not open this")
NOT_FOUND = Problem("/problems/not-found", 404, "There is nothing at this address")
METHOD_NOT_ALLOWED = Problem("/problems/method-not-allowed", 405, "This address does not take this method")
NOT_ACCEPTABLE = Problem(
    "/problems/not-acceptable", 406, "This address does not answer in any media type that is accepted"
)
NOT_ENDED = Problem("/problems/match-not-ended", 409, "This can be had when the match has ended")
CHANGED = Problem("/problems/changed-meanwhile", 412, "It is not as it was when it was read")
NO_IF_MATCH = Problem("/problems/if-match-needed", 428, "A change says in If-Match which version was read")
TOO_LARGE = Problem("/problems/body-too-large", 413, "The body is too large")
MEDIA_TYPE_REFUSED = Problem("/problems/unsupported-media-type", 415, "The body must be application/json in UTF-8")
DATABASE_AWAY = Problem("/problems/database-away", 503, "The database cannot be used now; ask again later")
NOT_READY = Problem("/problems/not-ready", 503, "The service is not ready")
INTERNAL = Problem("/problems/internal-error", 500, "The service failed; the fault is ours")

PROBLEMS = (
    BROKEN_REQUEST,
    INVALID_JSON,
    INVALID_SITUATION,
    INVALID_BODY,
    INVALID_HEADER,
    INVALID_QUERY,
    TOO_MANY_MATCHES,
    KEY_REUSED,
    NO_TOKEN,
    NO_SCOPE,
    NOT_FOUND,
    METHOD_NOT_ALLOWED,
    NOT_ACCEPTABLE,
    NOT_ENDED,
    CHANGED,
    NO_IF_MATCH,
    TOO_LARGE,
    MEDIA_TYPE_REFUSED,
    DATABASE_AWAY,
    NOT_READY,
    INTERNAL,
)
_NAMED_ONLY = (INVALID_JSON, NOT_ENDED, DATABASE_AWAY)
_BY_STATUS = {p.status: p for p in PROBLEMS if p not in _NAMED_ONLY and p.status != 422}
_OF_PARAMETERS = (INVALID_QUERY, INVALID_HEADER)


class ProblemError(HTTPException):
    """Ends a request with a problem document. `faults` are listed; in query and headers they name a parameter."""

    def __init__(
        self,
        problem: Problem,
        detail: str | None = None,
        faults: Sequence[Fault] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.code = problem.status
        self.problem = problem
        self.faults = tuple(faults)
        self.headers = dict(headers or {})

    def get_headers(self, *args: Any, **kwargs: Any) -> list[tuple[str, str]]:
        """The headers that the answer carries."""
        return list(self.headers.items())


def refuse(
    problem: Problem,
    detail: str | None = None,
    faults: Sequence[Fault] = (),
    headers: Mapping[str, str] | None = None,
) -> NoReturn:
    """End the request with this problem."""
    raise ProblemError(problem, detail, faults, headers)


def problem_body(problem: Problem, detail: str | None, faults: Sequence[Fault]) -> dict[str, Any]:
    """The members of a problem document; `errors` only where there are faults."""
    body: dict[str, Any] = {"type": problem.type, "title": problem.title, "status": problem.status}
    if detail is None and faults:
        detail = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    if len(faults) > MOST_ERRORS:
        detail = f"{detail}; the first {MOST_ERRORS} are listed"
    if detail is not None:
        body["detail"] = detail
    if faults:
        body["errors"] = [fault_body(fault, problem in _OF_PARAMETERS) for fault in faults[:MOST_ERRORS]]
    return body


def http_problem(error: HTTPException) -> Response:
    """Any HTTP error as a problem document. Headers that the error carries (Allow, Retry-After, ...) are kept."""
    status = error.code or 500
    if status < 400:
        return current_app.make_response(error.get_response())
    if isinstance(error, ProblemError):
        body = problem_body(error.problem, error.description, error.faults)
    else:
        body = problem_body(problem_of(status), _detail(error), ())
    response = jsonify(body)
    response.status_code = status
    for name, value in error.get_headers():
        if name.lower() not in ("content-type", "content-length"):
            response.headers[name] = value
    response.content_type = MEDIA_TYPE
    return response


def _detail(error: HTTPException) -> str | None:
    if error.code == 405:
        allowed = ", ".join(sorted(getattr(error, "valid_methods", None) or ()))
        return f"allowed: {allowed}" if allowed else None
    if error.code == 413:
        return f"at most {current_app.config['MAX_CONTENT_LENGTH']} bytes"
    return None


def problem_of(status: int) -> Problem:
    """The problem that a bare status stands for; one without a type of its own is told by its name."""
    return _BY_STATUS.get(status) or Problem("about:blank", status, HTTP_STATUS_CODES.get(status, "Error"))


def fault_body(fault: Fault, of_parameter: bool = False) -> dict[str, Any]:
    """One fault with its place: a pointer into the body, or the name of a parameter."""
    path = tuple(_clean(step) if isinstance(step, str) else step for step in fault.path)
    where = {"parameter": str(path[0]) if path else ""} if of_parameter else {"pointer": pointer_text(path)}
    return {**where, "value": shortened(fault.value), "expected": fault.expected}


def shortened(value: Any) -> Any:
    """A posted value short enough to be shown: scalars as they are, the rest by its size."""
    if isinstance(value, str):
        text = _clean(value)
        return text if len(text) <= LONGEST_TEXT else text[: LONGEST_TEXT - 1] + "…"
    if isinstance(value, Mapping):
        return f"an object with {len(value)} member{'' if len(value) == 1 else 's'}"
    if isinstance(value, (list, tuple)):
        return _short_list(value)
    if isinstance(value, (int, float)) and not isinstance(value, bool) and not math.isfinite(value):
        return str(value)
    return value


def _short_list(value: Sequence[Any]) -> str:
    if len(value) <= 4 and all(item is None or isinstance(item, (bool, int, str)) for item in value):
        text = json.dumps([_clean(item) if isinstance(item, str) else item for item in value], ensure_ascii=False)
        if len(text) <= LONGEST_TEXT:
            return text
    return f"a list of {len(value)}"


def _clean(text: str) -> str:
    """Without what no answer can carry."""
    return text[:200].encode("utf-8", "replace").decode("utf-8").replace("\x00", "?")


def faults_of(messages: Any, posted: Any, at: tuple[str | int, ...] = ()) -> Iterable[Fault]:
    """Marshmallow's messages as faults in the order of the body; each message says what was expected."""
    if isinstance(messages, Mapping):
        for name, below in messages.items():
            yield from faults_of(below, posted, at if name == "_schema" else (*at, name))
        return
    for message in messages if isinstance(messages, (list, tuple)) else [messages]:
        yield Fault(at, _at(posted, at), str(message))


def _at(posted: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        try:
            posted = posted[step]
        except (KeyError, IndexError, TypeError):
            return None
    return posted
