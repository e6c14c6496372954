"""The headers that answers carry by their status, and what a status says of a conditional request (RFC 9110)."""

from http import HTTPStatus
from typing import Any

Header = dict[str, Any]


def header(description: str, kind: str = "string") -> Header:
    """A header of an answer."""
    return {"description": description, "schema": {"type": kind}}


CHALLENGE = {"WWW-Authenticate": header("The scheme, and for a token that was sent what is wrong with it (RFC 6750).")}
RETRY = {"Retry-After": header("Seconds after which to ask again.", "integer")}
ETAG = {"ETag": header("The version that the client holds already.")}
HEADERS: dict[HTTPStatus, dict[str, Header]] = {
    HTTPStatus.NOT_MODIFIED: ETAG,
    HTTPStatus.UNAUTHORIZED: CHALLENGE,
    HTTPStatus.FORBIDDEN: CHALLENGE,
    HTTPStatus.METHOD_NOT_ALLOWED: {"Allow": header("The methods that the address takes.")},
    HTTPStatus.TOO_MANY_REQUESTS: RETRY,
    HTTPStatus.SERVICE_UNAVAILABLE: RETRY,
}
SAYS: dict[HTTPStatus, str] = {
    HTTPStatus.NOT_MODIFIED: "What the client holds by If-None-Match is as it was; there is no body.",
    HTTPStatus.PRECONDITION_FAILED: "It was changed since the version that If-Match names: read it again.",
    HTTPStatus.PRECONDITION_REQUIRED: "A change names in If-Match the version that was read.",
    HTTPStatus.SERVICE_UNAVAILABLE: "It cannot be answered now; what Retry-After names says when to ask again.",
}
