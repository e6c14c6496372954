"""The objects `context`, `own` and `opponent`: their names are the vocabulary's, their values are checked by kind."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from marshmallow import ValidationError, fields

from tacticapi.api.situations.messages import messages
from tacticapi.api.situations.observations import LONGEST_NOTE
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.knowledge import Fault, profile_faults
from tacticapi.knowledge.vocabulary import ENDS
from tacticapi.scoring import Format, ScoreError

WIND_DIRECTIONS = ("with", "against", "cross")
HEAT_BOUNDS: Mapping[str, tuple[float, float]] = {"air_c": (-30, 60), "humidity": (0, 100), "wbgt": (-30, 60)}
FORMAT = "format"


class Profile(fields.Field[dict[str, Any]]):
    """An object whose names are the vocabulary's items of one subject; what is null is left out as unknown."""

    def __init__(self, subject: str, *, says: str) -> None:
        super().__init__(allow_none=True, metadata={"description": says})
        self.subject = subject

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> dict[str, Any]:
        if not isinstance(value, dict):
            raise ValidationError("an object")
        kinds = kinds_of(self.root.rulebook, self.subject)  # type: ignore[union-attr]
        found = [fault for key, item in value.items() for fault in _item_faults(self.subject, key, item, kinds)]
        if found:
            raise ValidationError(messages(found))
        read: dict[str, Any] = {}
        for key, item in value.items():
            if item is not None:
                read.update(_SPREADS[key](item) if key in _SPREADS and isinstance(item, dict) else {key: item})
        return read


def kinds_of(rulebook: Rulebook, subject: str) -> dict[str, ObservationKind]:
    """The kinds of a subject by the part of the id after the dot, in vocabulary order."""
    return {kind.key: kind for kind in rulebook.kinds.values() if kind.subject == subject}


def _item_faults(subject: str, key: str, item: Any, kinds: Mapping[str, ObservationKind]) -> Iterable[Fault]:
    if subject == "context" and key == FORMAT:
        return _format_faults(item)
    if key not in kinds:
        extra = (FORMAT,) if subject == "context" else ()
        return [Fault((key,), item, f"no other name than {', '.join((*extra, *kinds))}")]
    if isinstance(item, dict) and subject == "context" and key in _OBJECTS:
        return [Fault((key, *fault.path), fault.value, fault.expected) for fault in _OBJECTS[key](item, kinds[key])]
    if isinstance(item, str) and len(item) > LONGEST_NOTE:
        return [Fault((key,), item, f"a text of at most {LONGEST_NOTE} characters")]
    return profile_faults(key, item, kinds[key])


def _format_faults(item: Any) -> list[Fault]:
    try:
        Format.from_wire(item)
    except ScoreError as refused:
        return [Fault((FORMAT, *fault.path), fault.value, fault.expected) for fault in refused.faults]
    return []


def _wind_faults(item: Mapping[str, Any], kind: ObservationKind) -> list[Fault]:
    found = [Fault((name,), item[name], "strength or direction") for name in item if name not in _WIND]
    found += [Fault(("strength",), f.value, f.expected) for f in profile_faults("strength", item.get("strength"), kind)]
    direction = item.get("direction")
    if direction is None:
        return found
    if not isinstance(direction, dict):
        return [*found, Fault(("direction",), direction, "an object with north and south")]
    for end, blows in direction.items():
        if end not in ENDS:
            found.append(Fault(("direction", end), blows, f"one of {', '.join(ENDS)}"))
        elif blows is not None and blows not in WIND_DIRECTIONS:
            found.append(Fault(("direction", end), blows, f"one of {', '.join(WIND_DIRECTIONS)}"))
    return found


def _heat_faults(item: Mapping[str, Any], kind: ObservationKind) -> list[Fault]:
    found = []
    for name, value in item.items():
        bounds = HEAT_BOUNDS.get(name)
        if bounds is None:
            found.append(Fault((name,), value, f"one of {', '.join(HEAT_BOUNDS)}"))
        elif value is not None and not _within(value, bounds):
            found.append(Fault((name,), value, f"a number from {bounds[0]:g} to {bounds[1]:g}"))
    return found


def _within(value: Any, bounds: tuple[float, float]) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and bounds[0] <= value <= bounds[1]


def _wind(item: Mapping[str, Any]) -> dict[str, Any]:
    direction = {end: blows for end, blows in (item.get("direction") or {}).items() if blows is not None}
    read = {"wind": item.get("strength"), "wind_direction": direction}
    return {name: value for name, value in read.items() if value}


def _heat(item: Mapping[str, Any]) -> dict[str, Any]:
    return {f"heat_{name}": value for name, value in item.items() if value is not None}


def _format(item: Mapping[str, Any]) -> dict[str, Any]:
    return {FORMAT: {name: value for name, value in item.items() if value is not None}}


_WIND = ("strength", "direction")
_OBJECTS: Mapping[str, Callable[[Mapping[str, Any], ObservationKind], list[Fault]]] = {
    "wind": _wind_faults,
    "heat": _heat_faults,
}
_SPREADS: Mapping[str, Callable[[Mapping[str, Any]], dict[str, Any]]] = {
    "wind": _wind,
    "heat": _heat,
    FORMAT: _format,
}
