"""Facts of context, own and opponent as they are posted and kept: their faults, and what the domain reads in them."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.knowledge import Fault, profile_faults
from tacticapi.scoring import Format, ScoreError

PROFILES = ("context", "own", "opponent")
FORMAT = "format"
LONGEST_TEXT = 500
Facts = Mapping[str, Any]
Kinds = Mapping[str, ObservationKind]


def kinds_of(rulebook: Rulebook, subject: str) -> dict[str, ObservationKind]:
    """The kinds of a subject by the part of the id after the dot, in vocabulary order."""
    return {kind.key: kind for kind in rulebook.kinds.values() if kind.subject == subject}


def fact_faults(subject: str, facts: Facts, kinds: Kinds) -> list[Fault]:
    """Every fault of the facts of one subject; `kinds` are those of that subject, and null is never a fault."""
    return [fault for key, item in facts.items() for fault in _item_faults(subject, key, item, kinds)]


def profile(posted: Facts) -> dict[str, Any]:
    """Checked facts by key: what is null is left out, wind and heat given in full are spread over plain keys."""
    read: dict[str, Any] = {}
    for key, item in posted.items():
        if item is not None:
            spread = _SPREADS.get(key) if isinstance(item, Mapping) else None
            read.update(spread(item) if spread else {key: item})
    return read


def _item_faults(subject: str, key: str, item: Any, kinds: Kinds) -> Iterable[Fault]:
    if subject == "context" and key == FORMAT:
        return _format_faults(item)
    if key not in kinds:
        extra = (FORMAT,) if subject == "context" else ()
        return [Fault((key,), item, f"no other name than {', '.join((*extra, *kinds))}")]
    if isinstance(item, str) and not 1 <= len(item) <= LONGEST_TEXT:
        return [Fault((key,), item, f"a text of 1 to {LONGEST_TEXT} characters")]
    return profile_faults(key, item, kinds[key])


def _format_faults(item: Any) -> list[Fault]:
    try:
        Format.from_wire(item)
    except ScoreError as refused:
        return [Fault((FORMAT, *fault.path), fault.value, fault.expected) for fault in refused.faults]
    return []


def _wind(item: Facts) -> dict[str, Any]:
    direction = {end: blows for end, blows in (item.get("direction") or {}).items() if blows is not None}
    return {"wind": item["strength"], **({"wind_direction": direction} if direction else {})}


def _heat(item: Facts) -> dict[str, Any]:
    return {f"heat_{name}": value for name, value in item.items() if value is not None}


def _format(item: Facts) -> dict[str, Any]:
    return {FORMAT: {name: value for name, value in item.items() if value is not None}}


_SPREADS: Mapping[str, Callable[[Facts], dict[str, Any]]] = {"wind": _wind, "heat": _heat, FORMAT: _format}
