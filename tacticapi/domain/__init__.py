"""Define the frozen dataclasses and enums that all folders share: no arithmetic, no files, no HTTP.

A field that appears in responses has a description beside its type; the API derives its response schemas from both.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, TypeVar, dataclass_transform
from uuid import UUID

T = TypeVar("T")


@dataclass_transform(frozen_default=True)
def many(kind: type[T]) -> type[T]:
    """Make a dataclass of which a request creates many instances. Only the type checker treats it as frozen.

    At run time, a frozen dataclass sets each field with a function call, so creating it takes four times as long.
    """
    return dataclass(slots=True, unsafe_hash=True)(kind)


@dataclass(frozen=True, slots=True)
class Figure:
    """A number's bounds and decimal places in responses; None means unlimited."""

    low: float | None = None
    high: float | None = None
    digits: int | None = None


Id = Annotated[str, UUID]
Index = Annotated[int, Figure(0), "Index in the posted list."]
Indexes = tuple[Index, ...]
Chance = Annotated[float, Figure(0, 1, 3)]
Thousandth = Annotated[float, Figure(digits=3)]
Exact = Annotated[float, Figure(0, 1, 4)]
Gain = Annotated[float, Figure(digits=4)]
Seen = Annotated[float, Figure(digits=2)]
Score = Mapping[str, Any]
