"""Frozen dataclasses and enums that all folders share: no arithmetic, no files, no HTTP.

A field that answers tell has its description beside its type; the API makes the shapes of its answers from both.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, TypeVar, dataclass_transform
from uuid import UUID

T = TypeVar("T")


@dataclass_transform(frozen_default=True)
def many(kind: type[T]) -> type[T]:
    """Make a dataclass of which a request makes many. It is frozen to the type checker alone.

    At run time, a frozen one sets each field by a call, so that making it takes four times as long.
    """
    return dataclass(slots=True, unsafe_hash=True)(kind)


@dataclass(frozen=True, slots=True)
class Figure:
    """The least and the greatest value of a number in answers, and its digits after the point; None: open."""

    low: float | None = None
    high: float | None = None
    digits: int | None = None


Id = Annotated[str, UUID]
Index = Annotated[int, Figure(0), "A place in the posted list."]
Indexes = tuple[Index, ...]
Chance = Annotated[float, Figure(0, 1, 3)]
Thousandth = Annotated[float, Figure(digits=3)]
Exact = Annotated[float, Figure(0, 1, 4)]
Gain = Annotated[float, Figure(digits=4)]
Seen = Annotated[float, Figure(digits=2)]
Score = Mapping[str, Any]
