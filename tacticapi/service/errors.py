"""How a use case refuses. Nothing was changed when one of these is raised."""

from collections.abc import Iterable
from typing import Any

from tacticapi.knowledge import Fault


class ServiceError(Exception):
    """Any refusal of a use case."""


class NotFound(ServiceError):
    """This club has nothing of this id. What belongs to another club is not found either."""

    def __init__(self, what: str, id: str) -> None:
        self.what, self.id = what, id
        super().__init__(f"no {what} {id}")


class NotPermitted(ServiceError):
    """Only safety may be shown at this moment; the text says what to do for safety, and why."""


class VersionConflict(ServiceError):
    """It was changed since it was read; `version` is the one that it has now."""

    def __init__(self, what: str, version: int) -> None:
        self.what, self.version = what, version
        super().__init__(f"the {what} has version {version} now: read it again before changing it")


class IdempotencyConflict(ServiceError):
    """The idempotency key came before with another request."""

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__("this idempotency key was used for another request: take a new key")


class Refused(ServiceError):
    """What was given cannot be done; `faults` say what was expected, paths below what was given."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.expected for fault in self.faults))


def refuse(expected: str, *path: str | int, value: Any = None) -> Refused:
    """A refusal with one fault."""
    return Refused([Fault(path, value, expected)])
