"""Expand the conditions of rule files into those that the matcher accepts.

Chances and shares become permille. Ratings and amounts are multiplied by 100. True and false become yes and no. A list
means "any of these": each combination becomes a separate alternative.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product
from typing import Any

from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.rulebook.conditions import QUALIFIERS

SCALE_PERMILLE = 1000
SCALE_OBSERVED = 100
OPEN = "open"
"""The level of a belief that observations have raised and nothing rules out: the price decides."""
PLAIN_COUNT = "count"
"""The option name of a share that was posted as a plain count."""

_LISTED = ("is", "value")
_BOUNDS = {
    "share": ("permille", SCALE_PERMILLE),
    "chances": ("chances", 1),
    "rating": ("rating", SCALE_OBSERVED),
    "amount": ("amount", SCALE_OBSERVED),
    "tried": ("tried", 1),
}
_OPS = (("at_least", Op.AT_LEAST), ("at_most", Op.AT_MOST))


def expanded(conditions: Sequence[Mapping[str, Any]], levels: Mapping[str, float]) -> Iterator[tuple[Condition, ...]]:
    """Yield all alternatives of one list of conditions; `levels` gives the probability of each level."""
    for chosen in product(*(_written_out(condition) for condition in conditions)):
        yield tuple(condition(data, levels) for data in chosen)


def condition(data: Mapping[str, Any], levels: Mapping[str, float]) -> Condition:
    """Build one condition from data without lists."""
    kind = next(kind for kind in FactKind if kind.value in data)
    wing = data.get("wing")
    tests = _belief_tests(data, levels) if kind is FactKind.BELIEF else tuple(_tests(data))
    if wing not in (None, "same"):
        tests = (*tests, Test("wing", Op.IS, str(wing)))
    if kind is FactKind.OBSERVED:
        # the pool: all observations of the kind, or those of one wing, court or serve
        tests = (*tests, Test("part", Op.IS, part_name(q for q in QUALIFIERS if q in data)))
        if "option" not in data and any(name.startswith(("share_", "chances_")) for name in data):
            tests = (*tests, Test("option", Op.IS, PLAIN_COUNT))
    return Condition(kind, data[kind.value], tests, same_wing=wing == "same")


def _written_out(data: Mapping[str, Any]) -> list[dict[str, Any]]:
    listed = [name for name in _LISTED if isinstance(data.get(name), list)]
    choices = product(*(data[name] for name in listed))
    return [{**data, **dict(zip(listed, choice, strict=True))} for choice in choices]


def _belief_tests(data: Mapping[str, Any], levels: Mapping[str, float]) -> tuple[Test, ...]:
    chance = data["at_least"] if "at_least" in data else levels[data["level"]]
    firm = Test("permille", Op.AT_LEAST, round(chance * SCALE_PERMILLE))
    return (firm, Test("seen", Op.IS, "yes")) if data.get("level") == OPEN else (firm,)


def _tests(data: Mapping[str, Any]) -> Iterator[Test]:
    if "is" in data:
        whole = type(data["is"]) is int
        yield Test("number" if whole else "value", Op.IS, data["is"] if whole else _word(data["is"]))
    for suffix, op in _OPS:
        if suffix in data:
            yield Test("number", op, int(data[suffix]))
    if "seen" in data:
        yield Test("seen", Op.IS, _word(data["seen"]))
    for name in ("option", "value", "court", "serve"):
        if name in data:
            yield Test(name, Op.IS, str(data[name]))
    for prefix, (field, scale) in _BOUNDS.items():
        for suffix, op in _OPS:
            if (name := f"{prefix}_{suffix}") in data:
                yield Test(field, op, round(data[name] * scale))


def part_name(qualifiers: Iterable[str]) -> str:
    """Return the name of the pool for these qualifiers: "whole" if there are none, else for example "court+wing"."""
    return "+".join(sorted(qualifiers)) or "whole"


def _word(value: bool | str) -> str:
    return value if isinstance(value, str) else "yes" if value else "no"
