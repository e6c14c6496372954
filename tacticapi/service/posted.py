"""What was posted and checked ▶ what the domain knows: observations, profile facts, tries."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Observation, Tries
from tacticapi.domain.terms import Way, Wing
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.knowledge import Fault, faults

Posted = Mapping[str, Any]
PROFILES = ("context", "own", "opponent")
_SAID = (Way.COUNT, Way.COUNTS, Way.RATING, Way.VALUE, Way.AMOUNT, Way.SEEN)


def observation_faults(posted: Any, rulebook: Rulebook) -> list[Fault]:
    """The faults of one posted observation against the vocabulary."""
    if not isinstance(posted, Mapping):
        return [Fault((), posted, "an object with what was seen")]
    kind = rulebook.kinds.get(posted["what"]) if isinstance(posted.get("what"), str) else None
    if kind is None:
        return [Fault(("what",), posted.get("what"), "an id of the vocabulary")]
    if kind.subject in PROFILES:
        return [Fault(("what",), kind.id, f"an observation; this one belongs to {kind.subject}, as {kind.key}")]
    if _is_text(posted, kind):
        return faults({**posted, "value": None, "note": "a text"}, kind)
    return faults(posted, kind)


def observation(index: int, posted: Posted, kind: ObservationKind) -> Observation:
    """The observation that a checked entry means, at this place of the list."""
    said = {name: _AS_KEPT.get(name, _as_is)(value) for name, value in posted.items() if value is not None}
    way = Way.TEXT if _is_text(posted, kind) else next((way for way in _SAID if way in said), Way.TEXT)
    if way is Way.TEXT:
        said.setdefault("value", said.get("note"))
    return Observation(index, way=way, **said)


def profile(posted: Posted) -> dict[str, Any]:
    """Checked facts by key: what is null is left out, wind and heat given in full are spread over plain keys."""
    read: dict[str, Any] = {}
    for key, item in posted.items():
        if item is not None:
            spread = _SPREADS.get(key) if isinstance(item, Mapping) else None
            read.update(spread(item) if spread else {key: item})
    return read


def merged_tries(posted: Iterable[Posted], rulebook: Rulebook) -> tuple[Tries, ...]:
    """One entry a tactic that the rulebook knows, in the order in which they first came; counts add up."""
    sums: dict[str, tuple[int, int]] = {}
    for entry in posted:
        name = current_tactic(entry["tactic"], rulebook)
        if name is not None:
            tried, won = sums.get(name, (0, 0))
            sums[name] = (tried + int(entry["tried"]), won + int(entry["won"]))
    return tuple(Tries(name, tried, won) for name, (tried, won) in sums.items())


def current_tactic(name: str, rulebook: Rulebook) -> str | None:
    """The tactic of this id, or the one that replaced it; None where the rulebook knows neither."""
    seen: set[str] = set()
    while name in rulebook.tactics and name not in seen:
        seen.add(name)
        replacement = rulebook.tactics[name].deprecated
        if replacement is None or replacement not in rulebook.tactics:
            return name
        name = replacement
    return None


def _is_text(posted: Posted, kind: ObservationKind) -> bool:
    """Whether `value` holds the plain text of a kind that takes one."""
    value = posted.get("value")
    return Way.TEXT in kind.ways and isinstance(value, str) and value not in kind.options


def _as_is(value: Any) -> Any:
    return value


def _whole_counts(counts: Mapping[str, float]) -> dict[str, int]:
    return {option: int(chances) for option, chances in counts.items()}


def _wind(item: Posted) -> dict[str, Any]:
    direction = {end: blows for end, blows in (item.get("direction") or {}).items() if blows is not None}
    return {"wind": item["strength"], **({"wind_direction": direction} if direction else {})}


def _heat(item: Posted) -> dict[str, Any]:
    return {f"heat_{name}": value for name, value in item.items() if value is not None}


_SPREADS: Mapping[str, Callable[[Posted], dict[str, Any]]] = {"wind": _wind, "heat": _heat}
_AS_KEPT: Mapping[str, Callable[[Any], Any]] = {
    "counts": _whole_counts,
    "wing": Wing,
    **dict.fromkeys(("count", "of", "rating", "set", "game"), int),
}
