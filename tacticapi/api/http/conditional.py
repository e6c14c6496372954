"""What is polled and what two people edit: ETag, If-None-Match and If-Match (RFC 9110)."""

from collections.abc import Callable, Mapping, Sequence
from hashlib import sha256
from typing import Any, Protocol, TypeVar

from flask import Response, request

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


def names_version() -> bool:
    """Report whether the request says which version was read."""
    return IF_MATCH in request.headers


def check_version(version: int) -> None:
    """Let a change go on where If-Match names this version: 428 without the header, 412 for another version."""
    if not names_version():
        refuse(NO_IF_MATCH, "send the ETag of the answer that you read")
    if not request.if_match.contains_weak(str(version)):  # a proxy that packs answers makes their tags weak
        refuse(CHANGED, f"it has version {version} now: read it again before changing it")


def named_version(version: int) -> int | None:
    """Return the version if If-Match names it, None without the header; 412 for another one."""
    if not names_version():
        return None
    check_version(version)
    return version


def versioned(response: Response, version: int) -> Response:
    """Return the answer with its version as ETag, for If-Match."""
    return tagged(response, str(version))


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


class Versioned(Protocol):
    """Counts its changes."""

    @property
    def version(self) -> int:
        """From 1."""


class Row(Versioned, Protocol):
    """Something that has an address of its own."""

    @property
    def id(self) -> str:
        """Its id."""


Kept = TypeVar("Kept", bound=Versioned)
Found = TypeVar("Found", bound=Row)


def read_answer(kept: Kept, present: Callable[[Kept], dict[str, Any]]) -> Response:
    """Return it as it is now; 304 if the client holds this version."""
    return unchanged(str(kept.version)) or versioned(answer(present(kept)), kept.version)


def edited(
    kept: Kept,
    changes: Mapping[str, Any],
    shape: type[Shape],
    change: Callable[[], Kept],
    present: Callable[[Kept], dict[str, Any]],
) -> Response:
    """Change it and return it. Ends the request for another version, and if nothing is to be changed."""
    check_version(kept.version)
    if not changes:
        refuse(INVALID_BODY, faults=[Fault((), None, f"at least one of {', '.join(shape().fields)}")])
    changed = change()
    return versioned(answer(present(changed)), changed.version)


def keyed(posted: Mapping[str, Any], external_id: str) -> dict[str, Any]:
    """Return the body of a PUT with the external id of its address. Ends the request for another one."""
    if posted.get("external_id") not in (None, external_id):
        expected = "the external id of the address, or none"
        refuse(INVALID_BODY, faults=[Fault(("external_id",), posted["external_id"], expected)])
    return {**posted, "external_id": external_id}


def upserted(
    find: Callable[[], Sequence[Found]],
    create: Callable[[], Found],
    change: Callable[[Found], Found],
    present: Callable[[Found], dict[str, Any]],
) -> Response:
    """Return what `find` has, changed, or else what is new. Someone else may make or change it meanwhile."""
    for attempt in range(ATTEMPTS):
        kept = next(iter(find()), None)
        if kept is None and names_version():
            refuse(CHANGED, "nothing has this external id")
        if kept is not None:
            named_version(kept.version)
        try:
            made = change(kept) if kept else create()
        except (Conflict, VersionConflict):
            again = next(iter(find()), None)
            if again == kept or attempt + 1 == ATTEMPTS:
                raise
            continue
        break
    response = versioned(answer(present(made), 200 if kept else 201), made.version)
    if not kept:
        noun = request.path.split("/")[-2]  # of /v1/by-external-id/players/member-17
        response.headers["Location"] = f"{request.script_root}/v1/{noun}/{made.id}"
    return response
