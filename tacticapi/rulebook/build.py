"""Build the objects of a rulebook from checked data; only what a rule file writes differently is handled here."""

from collections.abc import Callable, Mapping
from dataclasses import is_dataclass
from typing import Any, TypeVar

from cattrs import Converter
from cattrs.gen import make_dict_structure_fn

from tacticapi.domain.court import Point
from tacticapi.domain.rules import DangerWords, Gate, Level, Measure, Region, Relation, RelationKind, Trait

Data = Mapping[str, Any]
T = TypeVar("T")
ByLevel = Mapping[Level, float]
_PAIRS = {"amount": ("usual", "step"), "seen": ("yes", "no")}


def built(kind: type[T], data: Data) -> T:
    """Return the object that checked data means."""
    return _CONVERTER.structure(data, kind)


def _by_level(figure: Any, _: Any) -> ByLevel:
    return {level: float(figure[level] if isinstance(figure, dict) else figure) for level in Level}


def _trait(data: Data) -> Data:
    region = data.get("region", ())
    return {**data, "regions": [region] if isinstance(region, dict) else region}


def _region(data: Data) -> Data:
    if "lowest" in data:
        return {**data, "low": 0, "high": data["lowest"]}
    if "highest" in data:
        return {**data, "low": 1 - data["highest"], "high": 1}
    low, high = data.get("between") or (data["outer"] / 2, 1 - data["outer"] / 2)
    return {**data, "low": low, "high": high, "outer": "outer" in data}


def _measure(data: Data) -> Data:
    return {**data, **{name: [data[name][end] for end in ends] for name, ends in _PAIRS.items() if name in data}}


def _relation(data: Data) -> Data:
    kind = next(one for one in RelationKind if one.value in data)
    return {**data, "kind": kind, "to": data[kind.value]}


def _danger(data: Data) -> Data:
    pain = data["pain"]
    return {**data, **pain, "pain_sites": pain["sites"], "not_pain": [pain["never"]]}


_READ: Mapping[Any, Callable[[Any], Data]] = {
    Trait: _trait,
    Region: _region,
    Measure: _measure,
    Relation: _relation,
    DangerWords: _danger,
    Gate: lambda data: {**data, "keys": data.get("any_of") or [data["own"]]},
    Point: lambda data: dict(zip(("side", "aside", "along"), data, strict=True)),
}


def _made() -> Converter:
    made = Converter(detailed_validation=False)
    made.register_structure_hook(float, lambda number, _: number)  # a whole number is told as one

    @made.register_structure_hook_factory(is_dataclass)
    def _(kind: Any, converter: Converter) -> Callable[[Any, Any], Any]:
        read, make = _READ.get(kind, dict), make_dict_structure_fn(kind, converter)
        return lambda data, _: data if isinstance(data, kind) else make(read(data), kind)

    made.register_structure_hook_func(lambda kind: kind == ByLevel, _by_level)
    return made


_CONVERTER = _made()
