"""Faults of any reader, nested as the messages of a schema are."""

from collections.abc import Iterable, Sequence
from typing import Any, Protocol

WHOLE = "_schema"


class FaultLike(Protocol):
    """Has a path below what was read and what was expected there."""

    @property
    def path(self) -> Sequence[str | int]:
        """Steps below what was read; none means all of it."""

    @property
    def expected(self) -> str:
        """What would have been right, in words."""


def messages(faults: Iterable[FaultLike]) -> dict[Any, Any]:
    """The faults by step of their path; what concerns a whole object stands under `_schema`."""
    nested: dict[Any, Any] = {}
    for fault in faults:
        place = nested
        for step in fault.path:
            place = place.setdefault(step, {})
        place.setdefault(WHOLE, []).append(fault.expected)
    return nested
