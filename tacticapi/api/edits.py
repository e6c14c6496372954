"""What two people edit: read with its version as ETag, changed by whoever names the version read in If-Match."""

from collections.abc import Callable, Mapping
from typing import Any, Protocol, TypeVar

from flask import Response

from tacticapi.api.conditional import check_version, unchanged, versioned
from tacticapi.api.nouns import answer
from tacticapi.api.problems import INVALID_BODY, refuse
from tacticapi.api.shapes import Shape
from tacticapi.knowledge import Fault


class Versioned(Protocol):
    """Counts its changes."""

    @property
    def version(self) -> int:
        """From 1."""


Kept = TypeVar("Kept", bound=Versioned)


def read_answer(kept: Kept, present: Callable[[Kept], dict[str, Any]]) -> Response:
    """It as it is now; 304 where the client holds this version."""
    return unchanged(str(kept.version)) or versioned(answer(present(kept)), kept.version)


def edited(
    kept: Kept,
    changes: Mapping[str, Any],
    shape: type[Shape],
    change: Callable[[], Kept],
    present: Callable[[Kept], dict[str, Any]],
) -> Response:
    """It as it is after the change. Ends the request for another version, and where nothing is to be changed."""
    check_version(kept.version)
    if not changes:
        refuse(INVALID_BODY, faults=[Fault((), None, f"at least one of {', '.join(shape().fields)}")])
    changed = change()
    return versioned(answer(present(changed)), changed.version)
