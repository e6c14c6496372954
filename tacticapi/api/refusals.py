"""What a use case or the database refuses ▶ a problem document. The one place where they are mapped."""

from collections.abc import Callable

from flask import Flask, Response

from tacticapi.api.problems import (
    CHANGED,
    DATABASE_AWAY,
    INVALID_BODY,
    KEY_REUSED,
    NOT_FOUND,
    NOT_PERMITTED_NOW,
    Problem,
    ProblemError,
    http_problem,
)
from tacticapi.club import AWAY, IdempotencyConflict, NotFound, NotPermitted, Refused, ServiceError, VersionConflict

PROBLEM_OF: dict[type[ServiceError], Problem] = {
    NotFound: NOT_FOUND,
    NotPermitted: NOT_PERMITTED_NOW,
    VersionConflict: CHANGED,
    IdempotencyConflict: KEY_REUSED,
}
RETRY_AFTER_S = 5  # long enough for a writer to finish, short enough for a change of ends


def answer_refusals(app: Flask) -> None:
    """Answer every refusal of a use case, and a database that is locked, full or away, with its problem."""
    app.register_error_handler(ServiceError, _told(refusal_problem))
    for kind in AWAY:
        app.register_error_handler(kind, _told(_away))


def refusal_problem(error: ServiceError) -> ProblemError:
    """The problem of a refusal."""
    if isinstance(error, Refused):
        return ProblemError(INVALID_BODY, faults=error.faults)
    return ProblemError(PROBLEM_OF[type(error)], str(error))


def _away(error: Exception) -> ProblemError:
    return ProblemError(DATABASE_AWAY, headers={"Retry-After": str(RETRY_AFTER_S)})


def _told(problem: Callable[..., ProblemError]) -> Callable[[Exception], Response]:
    return lambda error: http_problem(problem(error))
