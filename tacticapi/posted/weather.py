"""Wind and heat as a request may give them in full: mappings instead of one word."""

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from tacticapi.domain.rules import ObservationKind

DIRECTIONS = ("with", "against", "cross")
ENDS = ("north", "south")
READINGS: Mapping[str, tuple[float, float, str]] = {
    "air_c": (-30.0, 60.0, "°C"),
    "humidity": (0.0, 100.0, "%"),
    "wbgt": (-30.0, 60.0, "°C"),
}  # plain caps against nonsense: wider than any weather that is played in

Found = tuple[tuple[str, ...], Any, str]


def wind_faults(value: Mapping[str, Any], kind: ObservationKind) -> Iterator[Found]:
    """Faults of {strength, direction: {north, south}}: the direction as the observer feels it from each end."""
    strengths = f"one of {', '.join(kind.options)}"
    if value.get("strength") not in kind.options:
        yield ("strength",), value.get("strength"), strengths
    yield from _other_fields(value, ("strength", "direction"), ())
    direction = value.get("direction")
    if direction is None:
        return
    if not isinstance(direction, Mapping):
        yield ("direction",), direction, f"a direction for {' or '.join(ENDS)}"
        return
    yield from _other_fields(direction, ENDS, ("direction",))
    for end in ENDS:
        if direction.get(end) is not None and direction[end] not in DIRECTIONS:
            yield ("direction", end), direction[end], f"one of {', '.join(DIRECTIONS)}"


def heat_faults(value: Mapping[str, Any], kind: ObservationKind) -> Iterator[Found]:
    """Faults of {air_c, humidity, wbgt}: air in °C, relative humidity in %, wet-bulb globe temperature in °C."""
    yield from _other_fields(value, tuple(READINGS), ())
    for name, (low, high, unit) in READINGS.items():
        reading = value.get(name)
        if reading is not None and not (number(reading) and low <= reading <= high):
            yield (name,), reading, f"a number from {low:g} to {high:g} in {unit}"


def number(value: Any) -> bool:
    """Whether this is a finite number; true and false are none."""
    if isinstance(value, float):
        return math.isfinite(value)
    return isinstance(value, int) and not isinstance(value, bool)


def _other_fields(value: Mapping[str, Any], known: tuple[str, ...], at: tuple[str, ...]) -> Iterator[Found]:
    for name in value:
        if name not in known:
            yield (*at, str(name)), value[name], f"one of {', '.join(known)}"


MAPPINGS: Mapping[str, Callable[[Mapping[str, Any], ObservationKind], Iterator[Found]]] = {
    "context.wind": wind_faults,
    "context.heat": heat_faults,
}
