"""What is polled and what two people edit: ETag, If-None-Match and If-Match (RFC 9110)."""

from collections.abc import Callable, Mapping
from hashlib import sha256
from types import ModuleType
from typing import Any

from flask import Response, request

from tacticapi.api.http.access import here
from tacticapi.api.http.blueprint import answer
from tacticapi.api.http.fields import Shape
from tacticapi.api.http.problems import CHANGED, INVALID_BODY, NO_IF_MATCH, refuse
from tacticapi.club import Conflict, VersionConflict
from tacticapi.rulebook.files import Fault

IF_MATCH = "If-Match"
TAG_LETTERS = 32
ATTEMPTS = 5


def tag_of(*parts: Any) -> str:
    """Return an ETag for these parts together."""
    return sha256("\n".join(map(str, parts)).encode()).hexdigest()[:TAG_LETTERS]


def unchanged(tag: str) -> Response | None:
    """Return 304 if the client has this version, else None; ask before computing the answer."""
    held = request.if_none_match
    return tagged(Response(status=304), tag) if held and held.contains_weak(tag) else None


def polled(tag: str, make: Callable[[], Response]) -> Response:
    """Return 304 if the client holds this already, else the answer with its ETag."""
    return unchanged(tag) or tagged(make(), tag)


def tagged(response: Response, tag: str) -> Response:
    """Return the answer with its ETag. It may be kept by the client alone, and asked about each time."""
    response.set_etag(tag)
    response.cache_control.private = True
    response.cache_control.no_cache = True
    return response


def named_version(version: int, *, needed: bool = False) -> int | None:
    """Return the version if If-Match names it, None without the header; 428 if it is `needed`, 412 for another one."""
    if IF_MATCH not in request.headers:
        return refuse(NO_IF_MATCH, "send the ETag of the answer that you read") if needed else None
    if not request.if_match.contains_weak(str(version)):  # a proxy that packs answers makes their tags weak
        refuse(CHANGED, f"it has version {version} now: read it again before changing it")
    return version


def merged(kept: Any, patch: Any) -> Any:
    """Return what a merge patch makes of something kept (RFC 7396): null takes a member away."""
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
    """Return it as it is now, with its version as ETag, for If-Match; with its address if it is new."""
    response = tagged(answer(present(kept), 201 if new else 200), str(kept.version))
    if new:
        response.headers["Location"] = f"{request.script_root}/v1/{request.blueprint}/{kept.id}"
    return response


def read_answer(kept: Any, present: Present) -> Response:
    """Return it as it is now; 304 if the client holds this version."""
    return unchanged(str(kept.version)) or shown(kept, present)


def edited(
    kept: Any, changes: Mapping[str, Any], shape: type[Shape], change: Callable[[], Any], present: Present
) -> Response:
    """Change it and return it. Ends the request for another version, and if nothing is to be changed."""
    named_version(kept.version, needed=True)
    if not changes:
        refuse(INVALID_BODY, faults=[Fault((), None, f"at least one of {', '.join(shape().fields)}")])
    return shown(change(), present)


def keyed(posted: Mapping[str, Any], external_id: str) -> dict[str, Any]:
    """Return the body of a PUT with the external id of its address. Ends the request for another one."""
    if posted.get("external_id") not in (None, external_id):
        expected = "the external id of the address, or none"
        refuse(INVALID_BODY, faults=[Fault(("external_id",), posted["external_id"], expected)])
    return {**posted, "external_id": external_id}


def upserted(
    of: ModuleType,
    external_id: str,
    create: Callable[[], Any],
    wanted: Callable[[Any], dict[str, Any]],
    present: Present,
) -> Response:
    """Return what has this id among those `of` a kind, as is `wanted` of it, or else what is new.

    Someone else may make or change it meanwhile.
    """
    attempts = 0
    while True:
        kept = _found(of, external_id)
        if kept is None and IF_MATCH in request.headers:
            refuse(CHANGED, "nothing has this external id")
        if kept is not None:
            named_version(kept.version)
        try:
            return shown(_as_wanted(of, kept, wanted(kept)) if kept else create(), present, new=not kept)
        except (Conflict, VersionConflict):
            attempts += 1
            if attempts == ATTEMPTS or _found(of, external_id) == kept:
                raise


def _found(of: ModuleType, external_id: str) -> Any:
    return next(iter(of.find(*here(), external_id=external_id)), None)


def _as_wanted(of: ModuleType, kept: Any, wanted: Mapping[str, Any]) -> Any:
    changes = {name: value for name, value in wanted.items() if value != getattr(kept, name)}
    return of.update(*here(), kept.id, kept.version, **changes) if changes else kept
