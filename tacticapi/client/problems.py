"""What can go wrong with a call, as exceptions that carry what the service said (RFC 9457)."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import requests

REQUEST_ID = "X-Request-ID"


class ClientError(Exception):
    """Every error of this client."""


class Unreachable(ClientError):
    """No answer came: nobody listens, the line broke, or it took too long. A write may or may not have been done."""


class BrokenAnswer(ClientError):
    """An answer came that is not what the service speaks, such as the page of a proxy."""


@dataclass(frozen=True)
class Fault:
    """One fault in what was sent: where (a JSON pointer into the body, or a parameter), what stood there, what may."""

    pointer: str | None
    parameter: str | None
    value: Any
    expected: str

    def __str__(self) -> str:
        where = self.parameter or self.pointer or "the body"
        found = "" if self.value is None else f", found {self.value!r}"
        return f"{where}: expected {self.expected}{found}"


class Problem(ClientError):
    """The service refused or failed. Its text names every fault.

    status, title, detail and type are the problem document's, `errors` its faults, `document` the whole of it,
    `request_id` what to name to whoever runs the service, `retry_after` seconds to wait, where that was said.
    """

    def __init__(self, document: Mapping[str, Any], status: int, request_id: str | None, retry_after: float | None):
        self.document = document
        self.status = status
        self.type = str(document.get("type", "about:blank"))
        self.title = str(document.get("title", f"HTTP status {status}"))
        self.detail: str | None = document.get("detail")
        self.errors = tuple(fault_of(error) for error in document.get("errors") or () if isinstance(error, Mapping))
        self.request_id = request_id
        self.retry_after = retry_after
        super().__init__(self._text())

    def _text(self) -> str:
        head = f"{self.status} {self.title}" + (f" ({self.detail})" if self.detail else "")
        tail = [f"request {self.request_id}"] if self.request_id else []
        return "\n".join([head, *(f"- {error}" for error in self.errors), *tail])


class Invalid(Problem):
    """400, 413, 415, 422: what was sent cannot be taken; `errors` says why."""


class NoToken(Problem):
    """401: there is no token, or it is not valid."""


class NoScope(Problem):
    """403: the token lacks the scope, or the event does not permit it now; `title` says which."""


class NotFound(Problem):
    """404: there is no such thing in this club."""


class NotNow(Problem):
    """409: it cannot be had yet, such as the debrief of a match that goes on."""


class ChangedMeanwhile(Problem):
    """412: someone else changed it since it was read."""


class Unavailable(Problem):
    """429, 502, 503, 504: not now; ask again after `retry_after` seconds."""


BY_STATUS: Mapping[int, type[Problem]] = {
    **dict.fromkeys((400, 413, 415, 422), Invalid),
    401: NoToken,
    403: NoScope,
    404: NotFound,
    409: NotNow,
    412: ChangedMeanwhile,
    **dict.fromkeys((429, 502, 503, 504), Unavailable),
}


def problem_of(response: requests.Response, retry_after: float | None = None) -> Problem:
    """The exception for an answer that is no success."""
    try:
        document = response.json()
    except requests.JSONDecodeError:
        document = {}
    status = response.status_code
    known = document if isinstance(document, Mapping) else {}
    return BY_STATUS.get(status, Problem)(known, status, response.headers.get(REQUEST_ID), retry_after)


def fault_of(error: Mapping[str, Any]) -> Fault:
    """One member of `errors`."""
    return Fault(error.get("pointer"), error.get("parameter"), error.get("value"), str(error.get("expected", "")))
