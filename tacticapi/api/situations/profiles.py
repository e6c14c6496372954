"""The objects `context`, `own` and `opponent`: their names are the vocabulary's, their values are checked by kind."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from marshmallow import ValidationError, fields

from tacticapi.api.situations.messages import messages
from tacticapi.api.situations.observations import LONGEST_NOTE
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.knowledge import Fault, profile_faults
from tacticapi.scoring import Format, ScoreError

FORMAT = "format"


class Profile(fields.Field[dict[str, Any]]):
    """An object whose names are the vocabulary's items of one subject; what is null is left out as unknown."""

    def __init__(self, subject: str, *, says: str) -> None:
        super().__init__(allow_none=True, metadata={"description": says})
        self.subject = subject
        self._kinds: Mapping[str, ObservationKind] | None = None

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> dict[str, Any]:
        if not isinstance(value, dict):
            raise ValidationError("an object")
        if self._kinds is None:
            self._kinds = kinds_of(self.root.rulebook, self.subject)  # type: ignore[union-attr]
        found = [fault for key, item in value.items() for fault in _item_faults(self.subject, key, item, self._kinds)]
        if found:
            raise ValidationError(messages(found))
        read: dict[str, Any] = {}
        for key, item in value.items():
            if item is not None:
                read.update(_SPREADS[key](item) if isinstance(item, dict) else {key: item})
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
    if isinstance(item, str) and not 1 <= len(item) <= LONGEST_NOTE:
        return [Fault((key,), item, f"a text of 1 to {LONGEST_NOTE} characters")]
    return profile_faults(key, item, kinds[key])


def _format_faults(item: Any) -> list[Fault]:
    try:
        Format.from_wire(item)
    except ScoreError as refused:
        return [Fault((FORMAT, *fault.path), fault.value, fault.expected) for fault in refused.faults]
    return []


def _wind(item: Mapping[str, Any]) -> dict[str, Any]:
    direction = {end: blows for end, blows in (item.get("direction") or {}).items() if blows is not None}
    return {"wind": item["strength"], **({"wind_direction": direction} if direction else {})}


def _heat(item: Mapping[str, Any]) -> dict[str, Any]:
    return {f"heat_{name}": value for name, value in item.items() if value is not None}


def _format(item: Mapping[str, Any]) -> dict[str, Any]:
    return {FORMAT: {name: value for name, value in item.items() if value is not None}}


_SPREADS: Mapping[str, Callable[[Mapping[str, Any]], dict[str, Any]]] = {
    "wind": _wind,
    "heat": _heat,
    FORMAT: _format,
}
