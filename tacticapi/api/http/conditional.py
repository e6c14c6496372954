"""Handle conditional requests (RFC 9110): ETag, If-None-Match for polling, and If-Match for concurrent changes."""

from collections.abc import Callable, Mapping
from hashlib import sha256
from types import ModuleType
from typing import Any

from flask import Response, request

from tacticapi import __version__
from tacticapi.api.http.access import here
from tacticapi.api.http.blueprint import answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import Shape
from tacticapi.api.http.problems import refuse
from tacticapi.club import Conflict, VersionConflict
from tacticapi.rulebook.files import Fault

IF_MATCH = "If-Match"
TAG_LETTERS = 32
ATTEMPTS = 5


def tag_of(*parts: Any) -> str:
    """Return an ETag that identifies these parts together."""
    return sha256("\n".join(map(str, parts)).encode()).hexdigest()[:TAG_LETTERS]


def rules_tag_of(*parts: Any) -> str:
    """Return an ETag that also identifies the rules and the version of the code."""
    return tag_of(*parts, deployment().rulebook.digest, __version__)


def unchanged(tag: str) -> Response | None:
    """Return 304 if the client has this version, else None. Call it before computing the response."""
    held = request.if_none_match
    return tagged(Response(status=304), tag) if held and held.contains_weak(tag) else None


def polled(tag: str, make: Callable[[], Response]) -> Response:
    """Return 304 if the client has this version, else the response with its ETag."""
    return unchanged(tag) or tagged(make(), tag)


def tagged(response: Response, tag: str) -> Response:
    """Return the response with its ETag. Only the client may cache it, and must revalidate it each time."""
    response.set_etag(tag)
    response.cache_control.private = True
    response.cache_control.no_cache = True
    return response


def named_version(version: int, *, needed: bool = False) -> int | None:
    """Return the version in If-Match, None if missing. End the request with 428 if `needed`, with 412 if outdated."""
    if IF_MATCH not in request.headers:
        return refuse("if-match-needed", "send the ETag from the response that you read") if needed else None
    if not request.if_match.contains_weak(str(version)):  # a proxy that compresses responses makes their tags weak
        refuse("changed-meanwhile", f"its current version is {version}: read it again before changing it")
    return version


def merged(kept: Any, patch: Any) -> Any:
    """Apply a merge patch (RFC 7396) to a stored value and return the result: null removes a member."""
    if not isinstance(patch, Mapping):
        return patch
    made = dict(kept) if isinstance(kept, Mapping) else {}
    for name, value in patch.items():
        if value is None:
            made.pop(name, None)
        else:
            made[name] = merged(made.get(name), value)
    return made


Present = Callable[[Any], dict[str, Any]]


def shown(kept: Any, present: Present, *, new: bool = False) -> Response:
    """Return the resource with its version as ETag (for If-Match) and, if it is new, with its address."""
    response = tagged(answer(present(kept), 201 if new else 200), str(kept.version))
    if new:
        response.headers["Location"] = f"{request.script_root}/v1/{request.blueprint}/{kept.id}"
    return response


def read_answer(kept: Any, present: Present) -> Response:
    """Return the resource, or 304 if the client has this version."""
    return unchanged(str(kept.version)) or shown(kept, present)


def edited(
    kept: Any, changes: Mapping[str, Any], shape: type[Shape], change: Callable[[], Any], present: Present
) -> Response:
    """Change the resource and return it. End the request if the version does not match or the body is empty."""
    named_version(kept.version, needed=True)
    if not changes:
        refuse("invalid-body", faults=[Fault((), None, f"at least one of {', '.join(shape().fields)}")])
    return shown(change(), present)


def keyed(posted: Mapping[str, Any], external_id: str) -> dict[str, Any]:
    """Return the body of a PUT with the external id from its address. End the request if the two differ."""
    if posted.get("external_id") not in (None, external_id):
        expected = "the external id in the address, or none"
        refuse("invalid-body", faults=[Fault(("external_id",), posted["external_id"], expected)])
    return {**posted, "external_id": external_id}


def upserted(
    of: ModuleType,
    external_id: str,
    create: Callable[[], Any],
    wanted: Callable[[Any], dict[str, Any]],
    present: Present,
) -> Response:
    """Return the resource with this external id, updated to what is `wanted`; create it if it is missing.

    It retries if another request creates or changes the resource at the same time.
    """
    attempts = 0
    while True:
        found = of.find(*here(), external_id=external_id)
        try:
            if not found:
                if IF_MATCH in request.headers:
                    refuse("changed-meanwhile", "no resource has this external id")
                return shown(create(), present, new=True)
            kept = found[0]
            named_version(kept.version)
            changes = {name: value for name, value in wanted(kept).items() if value != getattr(kept, name)}
            return shown(of.update(*here(), kept.id, kept.version, **changes) if changes else kept, present)
        except (Conflict, VersionConflict):
            attempts += 1
            if attempts == ATTEMPTS or of.find(*here(), external_id=external_id) == found:
                raise
