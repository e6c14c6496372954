"""Checked entries ▶ places on the court."""

from collections.abc import Mapping, Sequence
from typing import Any

from tacticapi.domain.court import Place, PlacedMark, PlacedWay, Point, Side

Data = Mapping[str, Any]


def place(data: Data) -> Place:
    """The places of one tactic."""
    return Place(
        tactic=data["tactic"],
        serves=dict(data.get("serves", {})),
        targets=_marks(data.get("targets", ())),
        you=_marks(data.get("you", ())),
        opponent=_marks(data.get("opponent", ())),
        ways=tuple(_way(one) for one in data.get("ways", ())),
    )


def _marks(marks: Sequence[Data]) -> tuple[PlacedMark, ...]:
    return tuple(PlacedMark(_point(one["at"]), one["text"]) for one in marks)


def _way(data: Data) -> PlacedWay:
    return PlacedWay(tuple(map(_point, data["through"])), data["text"], data.get("player", False))


def _point(point: Sequence[Any]) -> Point:
    side, aside, along = point
    return Point(Side(side), float(aside), float(along))
