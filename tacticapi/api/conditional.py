"""What is polled and what two people edit: ETag, If-None-Match and If-Match (RFC 9110)."""

from collections.abc import Mapping
from hashlib import sha256
from typing import Any

from flask import Response, request

from tacticapi.api.problems import CHANGED, NO_IF_MATCH, refuse

IF_MATCH = "If-Match"
TAG_LETTERS = 32


def tag_of(*parts: Any) -> str:
    """An ETag that stands for these parts together."""
    return sha256("\n".join(map(str, parts)).encode()).hexdigest()[:TAG_LETTERS]


def unchanged(tag: str) -> Response | None:
    """304 where the client holds this already, else None; ask before the answer is worked out."""
    held = request.if_none_match
    return tagged(Response(status=304), tag) if held and held.contains_weak(tag) else None


def tagged(response: Response, tag: str) -> Response:
    """The answer with its ETag. It may be kept by the client alone, and asked about each time."""
    response.set_etag(tag)
    response.cache_control.private = True
    response.cache_control.no_cache = True
    return response


def names_version() -> bool:
    """Whether the request says which version was read."""
    return IF_MATCH in request.headers


def check_version(version: int) -> None:
    """Let a change go on where If-Match names this version: 428 without the header, 412 for another version."""
    if not names_version():
        refuse(NO_IF_MATCH, "send the ETag that came with it")
    if not request.if_match.contains(str(version)):
        refuse(CHANGED, f"it has version {version} now: read it again before changing it")


def versioned(response: Response, version: int, headers: Mapping[str, str] | None = None) -> Response:
    """The answer with its version as ETag, for If-Match."""
    response.headers.update(headers or {})
    return tagged(response, str(version))
