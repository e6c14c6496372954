"""How a request ends in a problem document."""

from collections.abc import Mapping, Sequence
from typing import Any, NoReturn

from flask import Response, current_app, jsonify
from werkzeug.exceptions import HTTPException

from tacticapi.api.problems.faults import fault_body
from tacticapi.api.problems.kinds import INVALID_HEADER, INVALID_QUERY, Problem, problem_of
from tacticapi.knowledge import Fault

MEDIA_TYPE = "application/problem+json"
MOST_ERRORS = 100  # a document stays readable; `detail` says how many more there are
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
    if isinstance(error, ProblemError):
        body = problem_body(error.problem, error.description, error.faults)
    else:
        body = problem_body(problem_of(status), _detail(error), ())
    response = jsonify(body)
    response.status_code = status
    for name, value in error.get_headers():
        if name.lower() not in ("content-type", "content-length"):
            # a set of methods has no order of its own, and an answer should be the same every time
            response.headers[name] = ", ".join(sorted(value.split(", "))) if name == "Allow" else value
    response.content_type = MEDIA_TYPE
    return response


def _detail(error: HTTPException) -> str | None:
    if error.code == 405:
        allowed = ", ".join(sorted(getattr(error, "valid_methods", None) or ()))
        return f"allowed: {allowed}" if allowed else None
    if error.code == 413:
        return f"at most {current_app.config['MAX_CONTENT_LENGTH']} bytes"
    return None
