"""The one error of this package, carrying every fault of the score or format it refuses."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a score or a format.

    `path` holds the parts that lead to the value inside the object that was read, such as ("sets", 0);
    `expected` says in words what would have been right.
    """

    path: tuple[str | int, ...]
    value: object
    expected: str

    def __str__(self) -> str:
        where = ".".join(str(part) for part in self.path) or "score"
        return f"{where}: {self.value!r}, expected {self.expected}"


class ScoreError(ValueError):
    """An impossible score or format; `faults` lists all that was found, in reading order."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(str(fault) for fault in self.faults))
