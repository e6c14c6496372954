"""Expand what rule files write: conditions as the matcher takes them, and evidence as terms with their likelihoods.

Every number of a condition becomes whole: chances and shares in permille, ratings and amounts of observations times
100, all else as it is. Yes and no stand for true and false. A list under `is` or `value` means any of these, so each
combination becomes an alternative of its own.

A word of evidence (slight, weak, moderate, strong) stands for the numbers in rules/defaults.yaml: `kappa` behind a
share, the pair `seen` (chance of a sign if the trait holds, and if not) and the five likelihood ratios of a rating.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product
from math import inf, nextafter
from typing import Any

from tacticapi.domain.rules import Condition, FactKind, ObservationKind, Op, Term, TermForm, Test
from tacticapi.rulebook.conditions import QUALIFIERS

Chances = tuple[float, float]
Bands = tuple[tuple[str, float, float], ...]

SCALE_PERMILLE = 1000
SCALE_OBSERVED = 100
OPEN = "open"
"""The level of a belief of which something was seen and that is not ruled out: its price decides."""
PLAIN_COUNT = "count"
"""The option of a share that was posted as a plain count."""

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
    """Yield all alternatives of one list of conditions; `levels` gives the chance behind leaning and likely."""
    for chosen in product(*(_written_out(condition) for condition in conditions)):
        yield tuple(condition(data, levels) for data in chosen)


def condition(data: Mapping[str, Any], levels: Mapping[str, float]) -> Condition:
    """Build one condition without lists."""
    kind = next(kind for kind in FactKind if kind.value in data)
    wing = data.get("wing")
    tests = _belief_tests(data, levels) if kind is FactKind.BELIEF else tuple(_tests(data))
    if wing not in (None, "same"):
        tests = (*tests, Test("wing", Op.IS, str(wing)))
    if kind is FactKind.OBSERVED:
        tests = (*tests, *_part_tests(data))
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
        yield _is_test(data["is"])
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


def _part_tests(data: Mapping[str, Any]) -> Iterator[Test]:
    """Yield the tests for the pooling: all that was seen of the kind, or the part of a wing, court or serve."""
    yield Test("part", Op.IS, part_name(q for q in QUALIFIERS if q in data))
    if "option" not in data and any(name.startswith(("share_", "chances_")) for name in data):
        yield Test("option", Op.IS, PLAIN_COUNT)


def part_name(qualifiers: Iterable[str]) -> str:
    """Return the name of a pooling by these qualifiers: "whole" for none, else for example "court+wing"."""
    return "+".join(sorted(qualifiers)) or "whole"


def _is_test(value: bool | int | float | str) -> Test:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return Test("number", Op.IS, int(value))
    return Test("value", Op.IS, _word(value))


def _word(value: bool | int | float | str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def term(data: Mapping[str, Any], kind: ObservationKind, defaults: Mapping[str, Any]) -> Term:
    """Build one term. Raises ValueError if its numbers cannot make a table."""
    narrowed: dict[str, Any] = {name: data.get(name) for name in ("wing", "serve", "court", "moves")}
    options = tuple(data.get("options", ()))
    return Term(what=data["what"], word=data["word"], options=options, **narrowed, **_reading(data, kind, defaults))


def _reading(data: Mapping[str, Any], kind: ObservationKind, defaults: Mapping[str, Any]) -> dict[str, Any]:
    word = defaults["words"][data["word"]]
    if "ends" in data:
        return {"form": TermForm.ENDS, **data["ends"]}
    if "shares" in data:
        kappa = word.get("rare_kappa", word["kappa"]) if data.get("rare") else word["kappa"]
        return {"form": TermForm.SHARES, **data["shares"], "kappa": float(kappa)}
    if "favourite" in data:
        favourite = defaults["favourite"]
        return {
            "form": TermForm.FAVOURITE,
            "p_if_true": favourite["share"],
            "kappa": float(favourite["total"]),
            "base": base_shares(kind.options, favourite["base"]),
        }
    if "amount" in data:
        return {"form": TermForm.TABLE, **_amount_reading(data["amount"], word["seen"])}
    if "ratings" in data:
        table = rating_table(word["ratings"], defaults["rating_middle"], data["ratings"])
    elif "seen" in data:
        table = seen_table(word["seen"], data["seen"])
    else:
        values = data["values"]
        table = value_table(kind.options, values.get("for", ()), values.get("against", ()), word["seen"])
    return {"form": TermForm.TABLE, "table": table}


def rating_table(ratios: Sequence[float], middle: float, side: str) -> dict[str, Chances]:
    """Return P(rating | trait holds) and P(rating | not) for the ratings "0" to "4"; both columns sum to 1.

    `ratios` are the likelihood ratios r0..r4 from the most speaking-for rating to the most speaking-against; `side`
    says which end speaks for the trait, low or high. The chances if not, q0..q4, follow from three choices:
    q2 = `middle`, q1 = 2 q0 and q3 = 2 q4 (an extreme rating is half as likely as its neighbour). With
    s = (1 - q2) / 3 the first column asks for q0 + q4 = s and the second for
    q0 (r0 + 2 r1) + q2 r2 + q4 (r4 + 2 r3) = 1, hence
    q0 = (1 - q2 r2 - s (r4 + 2 r3)) / ((r0 + 2 r1) - (r4 + 2 r3)).
    Raises ValueError if no positive chances solve this.
    """
    r0, r1, r2, r3, r4 = ratios
    both, above, below = (1 - middle) / 3, r0 + 2 * r1, r4 + 2 * r3
    first = (1 - middle * r2 - both * below) / (above - below) if above > below else -1.0
    if not 0 < first < both:
        raise ValueError("ratios that leave room for both columns to sum to 1")
    if_false = (first, 2 * first, middle, 2 * (both - first), both - first)
    levels = range(5) if side == "low" else range(4, -1, -1)
    return {str(level): (q * r, q) for level, q, r in zip(levels, if_false, ratios, strict=True)}


def seen_table(pair: Sequence[float], side: str) -> dict[str, Chances]:
    """Return the table of a sign that is seen or not; `side` says whether seeing it speaks for or against."""
    if_true, if_false = pair if side == "for" else reversed(pair)
    return {"seen": (if_true, if_false), "not-seen": (1 - if_true, 1 - if_false)}


def group_masses(pair: Sequence[float], *, has_for: bool, has_against: bool, has_rest: bool) -> tuple[Chances, ...]:
    """Return the chances of the groups for, against and rest if the trait holds and if not; both columns sum to 1.

    The group that speaks for takes the word's pair, the group that speaks against the same pair mirrored, and the
    rest what is left: as likely either way where both groups are there. With no rest, both groups share all.
    """
    if_true, if_false = pair
    if not has_rest:
        if_true, if_false = if_true / (if_true + if_false), if_false / (if_true + if_false)
    told_for = (if_true, if_false) if has_for else (0.0, 0.0)
    told_against = (if_false, if_true) if has_against else (0.0, 0.0)
    rest = (1 - told_for[0] - told_against[0], 1 - told_for[1] - told_against[1])
    return told_for, told_against, rest if has_rest else (0.0, 0.0)


def value_table(
    options: Sequence[str], told_for: Iterable[str], told_against: Iterable[str], pair: Sequence[float]
) -> dict[str, Chances]:
    """Return the table over all options of a kind; each group's chance is split evenly among its options."""
    speak_for, speak_against = tuple(told_for), tuple(told_against)
    rest = tuple(option for option in options if option not in speak_for and option not in speak_against)
    groups = (speak_for, speak_against, rest)
    masses = group_masses(pair, has_for=bool(speak_for), has_against=bool(speak_against), has_rest=bool(rest))
    chances = {
        option: (mass[0] / len(group), mass[1] / len(group))
        for group, mass in zip(groups, masses, strict=True)
        for option in group
    }
    return {option: chances[option] for option in options if option in chances}


def amount_bands(amount: Mapping[str, Mapping[str, float]]) -> Bands:
    """Return the bands (name, low, high) of an amount, low inside and high outside; the first that fits counts.

    `at_most` includes its bound, so the band ends just above it. Raises ValueError if for and against overlap
    or point the same way.
    """
    told_for, told_against = amount["for"], amount.get("against")
    bands = [_band("for", told_for)]
    if told_against is None:
        return (*bands, ("rest", -inf, inf))
    bands.append(_band("against", told_against))
    lower, upper = sorted(bands, key=lambda band: band[1])
    if told_for.keys() == told_against.keys() or lower[2] > upper[1]:
        raise ValueError("bounds for and against that look opposite ways and stand apart")
    return (*bands, ("rest", -inf, inf))


def _band(name: str, edge: Mapping[str, float]) -> tuple[str, float, float]:
    if "at_least" in edge:
        return name, float(edge["at_least"]), inf
    return name, -inf, nextafter(float(edge["at_most"]), inf)


def _amount_reading(amount: Mapping[str, Any], pair: Sequence[float]) -> dict[str, Any]:
    masses = group_masses(pair, has_for=True, has_against="against" in amount, has_rest=True)
    table, bands = dict(zip(("for", "against", "rest"), masses, strict=True)), amount_bands(amount)
    return {"table": {name: table[name] for name, _, _ in bands}, "bands": bands}


def base_shares(options: Sequence[str], base: Mapping[str, float]) -> tuple[float, ...]:
    """Return the shares of the options without a favourite: as `base` has them, else all alike."""
    known = [float(base.get(option, 0.0)) for option in options]
    if not all(known):
        return tuple(1 / len(options) for _ in options)
    return tuple(share / sum(known) for share in known)
