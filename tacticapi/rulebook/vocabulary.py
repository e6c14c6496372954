"""Check what was posted against the vocabulary: every fault of an observation or a profile item, with its place.

Wind and heat may be posted in full: mappings instead of one word.
"""

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from tacticapi.domain.rules import ObservationKind
from tacticapi.domain.situation import Way
from tacticapi.rulebook.conditions import MAX_RATING, QUALIFIERS
from tacticapi.rulebook.files import Fault

MAX_CHANCES = 10_000  # a plain cap against nonsense; no match has so many points
MAX_AMOUNT = 1_000_000  # a plain cap on amounts of which the kind has no bound of its own
DIRECTIONS = ("with", "against", "cross")
ENDS = ("north", "south")
READINGS: Mapping[str, tuple[float, float, str]] = {
    "air_c": (-30.0, 60.0, "°C"),
    "humidity": (0.0, 100.0, "%"),
    "wbgt": (-30.0, 60.0, "°C"),
}  # plain caps against nonsense: wider than any weather that is played in
_POSTED_WAYS = (Way.COUNT, Way.COUNTS, Way.RATING, Way.VALUE, Way.AMOUNT, Way.SEEN)
_CHANCES = f"a whole number from 0 to {MAX_CHANCES:,}"
Path = tuple[str, ...]
Check = Callable[[Any, ObservationKind, Path], Iterator[Fault]]


def faults(posted: Mapping[str, Any], kind: ObservationKind) -> list[Fault]:
    """Return all faults of one posted observation of this kind; a field that is null counts as absent.

    Looks at the ways, their bounds, the qualifiers, `set`, `game` and `end`; other fields are the caller's.
    """
    given = {name: value for name, value in posted.items() if value is not None}
    return [*_way_faults(given, kind), *_qualifier_faults(given, kind), *_place_faults(given)]


def profile_faults(key: str, value: Any, kind: ObservationKind) -> list[Fault]:
    """Return all faults of one item of context, own or opponent; null means unknown and is never a fault.

    Wind and heat may be mappings; any other mapping is a fault.
    """
    if isinstance(value, Mapping) and kind.id in _MAPPINGS:
        return list(_MAPPINGS[kind.id](value, kind, (key,)))
    if value is None or any(not list(_CHECKS[way](value, kind, ())) for way in kind.ways if way in _CHECKS):
        return []
    if Way.TEXT in kind.ways and isinstance(value, str):
        return []
    expected = [fault.expected for way in kind.ways if way in _CHECKS for fault in _CHECKS[way](value, kind, ())]
    return [Fault((key,), value, " or ".join(dict.fromkeys(expected)) or "a text")]


def _way_faults(given: Mapping[str, Any], kind: ObservationKind) -> Iterator[Fault]:
    used = [way for way in _POSTED_WAYS if way in given]
    ways = " or ".join(way for way in kind.ways)
    if not used and not (Way.TEXT in kind.ways and "note" in given):
        yield Fault((), None, f"one way of saying it: {ways}")
    for way in used:
        if way not in kind.ways:
            yield Fault((way.value,), given[way], f"another way of saying it: {ways}")
        elif way is not used[0]:
            yield Fault((way.value,), given[way], "one way of saying it, not several")
        elif way is Way.COUNT:
            yield from _count_faults(given)
        else:
            yield from _CHECKS[way](given[way], kind, (way.value,))
    if "of" in given and Way.COUNT not in used:
        yield Fault(("of",), given["of"], "of only beside count")


def _count_faults(given: Mapping[str, Any]) -> Iterator[Fault]:
    count, of = given["count"], given.get("of")
    if not _whole(count, MAX_CHANCES):
        yield Fault(("count",), count, _CHANCES)
    if of is None:
        yield Fault(("of",), None, "the number of chances that the count is out of")
    elif not _whole(of, MAX_CHANCES):
        yield Fault(("of",), of, _CHANCES)
    elif _whole(count, MAX_CHANCES) and count > of:
        yield Fault(("count",), count, f"at most the {int(of)} chances in of")


def _counts_faults(value: Any, kind: ObservationKind, at: Path) -> Iterator[Fault]:
    options = ", ".join(kind.options)
    if not isinstance(value, Mapping) or not value:
        yield Fault(at, value, f"chances by option: {options}")
        return
    for option, chances in value.items():
        if option not in kind.options:
            yield Fault((*at, str(option)), chances, f"one of {options}")
        elif not _whole(chances, MAX_CHANCES):
            yield Fault((*at, option), chances, _CHANCES)


def _rating_faults(value: Any, kind: ObservationKind, at: Path) -> Iterator[Fault]:
    if not _whole(value, MAX_RATING):
        yield Fault(at, value, f"a rating: a whole number from 0 to {MAX_RATING}")


def _value_faults(value: Any, kind: ObservationKind, at: Path) -> Iterator[Fault]:
    if not isinstance(value, str) or value not in kind.options:
        yield Fault(at, value, f"one of {', '.join(kind.options)}")


def _amount_faults(value: Any, kind: ObservationKind, at: Path) -> Iterator[Fault]:
    low = -MAX_AMOUNT if kind.low is None else kind.low
    high = MAX_AMOUNT if kind.high is None else kind.high
    if not number(value) or not low <= value <= high:
        yield Fault(at, value, f"a number from {low:g} to {high:g} in {kind.unit}")


def _seen_faults(value: Any, kind: ObservationKind, at: Path) -> Iterator[Fault]:
    if not isinstance(value, bool):
        yield Fault(at, value, "true or false")


_CHECKS: Mapping[Way, Check] = {
    Way.COUNTS: _counts_faults,
    Way.RATING: _rating_faults,
    Way.VALUE: _value_faults,
    Way.AMOUNT: _amount_faults,
    Way.SEEN: _seen_faults,
}


def _qualifier_faults(given: Mapping[str, Any], kind: ObservationKind) -> Iterator[Fault]:
    for name, words in QUALIFIERS.items():
        taken, value = kind.qualifiers.get(name), given.get(name)
        if value is None:
            if taken == "required":
                yield Fault((name,), None, f"one of {', '.join(words)}")
        elif taken is None:
            yield Fault((name,), value, f"no {name}: {kind.id} takes none")
        elif value not in words:
            yield Fault((name,), value, f"one of {', '.join(words)}")


def _place_faults(given: Mapping[str, Any]) -> Iterator[Fault]:
    for name in ("set", "game"):
        if name in given and not (_whole(given[name], MAX_CHANCES) and given[name] >= 1):
            yield Fault((name,), given[name], "a whole number from 1")
    if "end" in given and given["end"] not in ENDS:
        yield Fault(("end",), given["end"], f"one of {', '.join(ENDS)}")


def _whole(value: Any, most: int) -> bool:
    return number(value) and 0 <= value <= most and value == int(value)


def _wind_faults(value: Mapping[str, Any], kind: ObservationKind, at: Path) -> Iterator[Fault]:
    """Check {strength, direction: {north, south}}: the direction as the observer feels it from each end."""
    if value.get("strength") not in kind.options:
        yield Fault((*at, "strength"), value.get("strength"), f"one of {', '.join(kind.options)}")
    yield from _other_fields(value, ("strength", "direction"), at)
    direction = value.get("direction")
    if direction is None:
        return
    if not isinstance(direction, Mapping):
        yield Fault((*at, "direction"), direction, f"a direction for {' or '.join(ENDS)}")
        return
    yield from _other_fields(direction, ENDS, (*at, "direction"))
    for end in ENDS:
        if direction.get(end) is not None and direction[end] not in DIRECTIONS:
            yield Fault((*at, "direction", end), direction[end], f"one of {', '.join(DIRECTIONS)}")


def _heat_faults(value: Mapping[str, Any], kind: ObservationKind, at: Path) -> Iterator[Fault]:
    """Check {air_c, humidity, wbgt}: air in °C, relative humidity in %, wet-bulb globe temperature in °C."""
    yield from _other_fields(value, tuple(READINGS), at)
    for name, (low, high, unit) in READINGS.items():
        reading = value.get(name)
        if reading is not None and not (number(reading) and low <= reading <= high):
            yield Fault((*at, name), reading, f"a number from {low:g} to {high:g} in {unit}")


def _other_fields(value: Mapping[str, Any], known: tuple[str, ...], at: Path) -> Iterator[Fault]:
    for name in value:
        if name not in known:
            yield Fault((*at, str(name)), value[name], f"one of {', '.join(known)}")


_MAPPINGS: Mapping[str, Check] = {"context.wind": _wind_faults, "context.heat": _heat_faults}


def number(value: Any) -> bool:
    """Return whether this is a finite number; true and false are not."""
    if isinstance(value, float):
        return math.isfinite(value)
    return isinstance(value, int) and not isinstance(value, bool)
