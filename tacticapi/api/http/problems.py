"""Define problem documents (RFC 9457), the only error shape: every fault with its place and what was expected."""

import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from http import HTTPStatus
from pathlib import Path
from typing import Any, NoReturn

from flask import Flask, Response, jsonify, request
from marshmallow import fields
from werkzeug.exceptions import HTTPException

from tacticapi import club
from tacticapi.api.http.fields import Answer, a_count, a_text, an_id, hosted
from tacticapi.rulebook.evaluator import TooManyMatches
from tacticapi.rulebook.files import Fault, pointer_text

PATH = "/problems/"


@dataclass(frozen=True, slots=True)
class Problem:
    """A problem type from problems.toml."""

    name: str
    status: int
    title: str
    mend: str

    @property
    def type(self) -> str:
        """Return the URI reference of the problem type."""
        return PATH + self.name


_CATALOGUE = Path(__file__).with_name("problems.toml").read_text(encoding="utf-8")
_KNOWN = {name: Problem(name, **members) for name, members in tomllib.loads(_CATALOGUE).items()}
PROBLEMS = tuple(_KNOWN.values())
WORKER_LOST = _KNOWN["worker-lost"]
_BY_STATUS = {problem.status: problem for problem in reversed(PROBLEMS)}  # the first of each status


def problem_of(status: int) -> Problem:
    """Return the problem type for a status; an unknown status gets its class's type."""
    other = _KNOWN["broken-request" if status < HTTPStatus.INTERNAL_SERVER_ERROR else "internal-error"]
    return _BY_STATUS.get(status) or replace(other, status=status)


MAX_SHOWN_LENGTH = 60


def fault_body(fault: Fault, of_parameter: bool = False) -> dict[str, Any]:
    """Return a fault as JSON, with its place: a pointer into the body, or the name of a parameter."""
    path = tuple(_clean(step) if isinstance(step, str) else step for step in fault.path)
    where = {"parameter": str(path[0]) if path else ""} if of_parameter else {"pointer": pointer_text(path)}
    return {**where, "value": shortened(fault.value), "expected": fault.expected}


def shortened(value: Any) -> Any:
    """Return a posted value short enough to show: scalars and short lists unchanged, anything else by its size."""
    if isinstance(value, str):
        text = _clean(value)
        return text if len(text) <= MAX_SHOWN_LENGTH else text[: MAX_SHOWN_LENGTH - 1] + "…"
    if isinstance(value, Mapping):
        return f"an object with {len(value)} member{'' if len(value) == 1 else 's'}"
    if isinstance(value, (list, tuple)):
        if len(value) <= 4 and all(item is None or isinstance(item, (bool, int, str)) for item in value):
            return [shortened(item) for item in value]
        return f"a list of {len(value)}"
    if isinstance(value, (int, float)) and not isinstance(value, bool) and not math.isfinite(value):
        return str(value)
    return value


def _clean(text: str) -> str:
    """Return the text without characters that a response cannot contain."""
    return text[:200].encode("utf-8", "replace").decode("utf-8").replace("\x00", "?")


MEDIA_TYPE = "application/problem+json"
MAX_ERRORS = 100  # keeps a document readable; `detail` gives the total
_OF_PARAMETERS = ("invalid-query", "invalid-header")


class ProblemError(HTTPException):
    """An error that ends the request with a problem document; faults in a query or header name a parameter."""

    def __init__(
        self,
        name: str,
        detail: str | None = None,
        faults: Sequence[Fault] = (),
        headers: Mapping[str, str] | None = None,
        *,
        code: str | None = None,
        newest: str | None = None,
    ) -> None:
        super().__init__(detail)
        self.of_conflict = code, newest
        self.problem = _KNOWN[name]
        self.code = self.problem.status
        self.faults = tuple(faults)
        self.headers = dict(headers or {})

    def get_headers(self, *args: Any, **kwargs: Any) -> list[tuple[str, str]]:
        """Return the response's headers."""
        return list(self.headers.items())


def refuse(
    name: str, detail: str | None = None, faults: Sequence[Fault] = (), headers: Mapping[str, str] | None = None
) -> NoReturn:
    """End the request with the problem that has this name."""
    raise ProblemError(name, detail, faults, headers)


def problem_body(problem: Problem, detail: str | None, faults: Sequence[Fault]) -> dict[str, Any]:
    """Return the members of a problem document; `errors` is included only if there are faults."""
    body: dict[str, Any] = {"type": hosted(problem.type), "title": problem.title, "status": problem.status}
    if detail is None and faults:
        detail = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    if len(faults) > MAX_ERRORS:
        detail = f"{detail}; the first {MAX_ERRORS} are listed"
    if detail is not None:
        body["detail"] = detail
    if faults:
        body["errors"] = [fault_body(fault, problem.name in _OF_PARAMETERS) for fault in faults[:MAX_ERRORS]]
    return body


def http_problem(error: HTTPException) -> Response:
    """Return any HTTP error as a problem document, with its headers (Allow, Retry-After, ...)."""
    status = error.code or 500
    if isinstance(error, ProblemError):
        body = problem_body(error.problem, error.description, error.faults)
        code, newest = error.of_conflict
        if code:
            of_query = request.method in ("GET", "HEAD")
            body["errors"] = [{**fault_body(fault, of_query), "code": code} for fault in error.faults]
        body |= {"newest": newest} if newest else {}
    else:
        body = problem_body(problem_of(status), _detail(error), ())
    response = jsonify(body)
    response.status_code = status
    for name, value in error.get_headers():
        if name.lower() not in ("content-type", "content-length"):
            # sort the set of methods, so that the response is always the same
            response.headers[name] = ", ".join(sorted(value.split(", "))) if name == "Allow" else value
    response.content_type = MEDIA_TYPE
    return response


def _detail(error: HTTPException) -> str | None:
    if error.code == 405:
        allowed = ", ".join(sorted(getattr(error, "valid_methods", None) or ()))
        return f"allowed: {allowed}" if allowed else None
    if error.code == 413:
        return f"at most {request.max_content_length} bytes"
    return None


class FaultSchema(Answer):
    """One fault: its place, the posted value, and what was expected."""

    pointer = fields.String(metadata={"description": "JSON pointer into the body (RFC 6901)."})
    parameter = fields.String(metadata={"description": "Name of a query parameter, instead of a pointer."})
    value = fields.Raw(
        required=True, allow_none=True, metadata={"description": "The posted value, shortened; null if there was none."}
    )
    expected = a_text("What was expected.")
    code = a_text("The kind of conflict with the stored data; /problems/state-conflict lists them.", absent=True)


class ProblemSchema(Answer):
    """A problem document (RFC 9457), sent as application/problem+json."""

    type = a_text("URI reference of the problem type; new types may be added.")
    title = a_text("The problem type in words.")
    status = a_count("The HTTP status.")
    detail = fields.String(metadata={"description": "What is wrong with this request."})
    errors = fields.List(fields.Nested(FaultSchema), metadata={"description": "Every error in the request."})
    newest = an_id("Id of the newest entry, if the named one is superseded.", absent=True)


PROBLEM_OF: dict[type[Exception], str] = {
    club.NotFound: "not-found",
    club.NotPermitted: "not-permitted-now",
    club.BeingFilled: "not-ready",
    club.LinkSpent: "link-spent",
    club.VersionConflict: "changed-meanwhile",
    club.IdempotencyConflict: "idempotency-key-reused",
    club.SchemaMismatch: "not-ready",
    TooManyMatches: "too-many-matches",
}
RETRY_AFTER_S = 5  # enough for a writer to finish, and short within a change of ends


def answer_refusals(app: Flask) -> None:
    """Register the problems for every refusal, and for a database that is locked, full or unavailable."""
    away = ProblemError("database-away", headers={"Retry-After": str(RETRY_AFTER_S)})
    app.register_error_handler(HTTPException, http_problem)
    for refusal in (club.ServiceError, club.SchemaMismatch, TooManyMatches):
        app.register_error_handler(refusal, lambda error: http_problem(refusal_problem(error)))
    for failure in club.AWAY:
        app.register_error_handler(failure, lambda _: http_problem(away))


def refusal_problem(error: Exception) -> ProblemError:
    """Return the problem for a refusal."""
    if isinstance(error, club.Conflict):
        return ProblemError("state-conflict", faults=error.faults, code=error.code, newest=error.newest)
    if isinstance(error, club.Refused):
        of_query = request.method in ("GET", "HEAD")
        return ProblemError("invalid-query" if of_query else "invalid-body", faults=error.faults)
    headers = {"Retry-After": str(RETRY_AFTER_S)} if isinstance(error, club.BeingFilled) else None
    return ProblemError(PROBLEM_OF[type(error)], str(error), headers=headers)
