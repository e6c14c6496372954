"""Check the conditions in rule files, and expand them into conditions that the matcher accepts.

Chances and shares become permille. Ratings and amounts are multiplied by 100. True and false become yes and no. A list
means "any of these": each combination becomes a separate alternative.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product
from math import inf, prod
from typing import Any

from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.rulebook.entries import Entries, EntryFault
from tacticapi.rulebook.files import Pointer, brief

PROFILE_SUBJECTS = ("context", "own", "opponent")
"""Subjects whose items are keys in a request's objects, not observations."""
COUNTED = ("count", "counts")
MAX_RATING = 4
QUALIFIERS: Mapping[str, tuple[str, ...]] = {
    "wing": ("forehand", "backhand"),
    "court": ("deuce", "ad"),
    "serve": ("first", "second"),
}
MAX_GAMES = 999  # per set, in a posted score
SCORE_WORDS: Mapping[str, tuple[str, ...]] = {
    "serving": ("own", "opponent"),
    "court": ("deuce", "ad", "either"),
    "tie_break": ("yes",),
    "serve": ("first", "second"),
}
SCORE_NUMBERS: Mapping[str, tuple[int, int]] = {
    "importance": (0, 1000),
    "games_completed": (0, 10 * MAX_GAMES),
    "set_games": (0, 2 * MAX_GAMES),
    "set_number": (1, 5),
    "games_ahead": (-MAX_GAMES, MAX_GAMES),
    "sets_ahead": (-3, 3),
    "breaks_ahead": (-MAX_GAMES, MAX_GAMES),
}
_BOUNDED = ("", "share_", "rating_", "amount_")
_MAX_WRITTEN_OUT = 64
"""The maximum number of alternatives that one list of conditions may expand to; lists of words multiply."""
_WAYS_OF_TESTS: Mapping[str, tuple[str, ...]] = {
    "share_at_least": COUNTED,
    "share_at_most": COUNTED,
    "chances_at_least": COUNTED,
    "option": ("counts",),
    "value": ("value",),
    "rating_at_least": ("rating",),
    "rating_at_most": ("rating",),
    "amount_at_least": ("amount",),
    "amount_at_most": ("amount",),
    "seen": ("seen", "text"),
    "is": ("rating", "amount"),
    "at_least": ("rating", "amount"),
    "at_most": ("rating", "amount"),
}


def conditions_of(data: Mapping[str, Any]) -> Iterator[tuple[Pointer, dict[str, Any]]]:
    """Yield every condition in a tactic or circumstance, with its place."""
    for part in ("when", "unless"):
        for n, alternative in enumerate(data.get(part, ())):
            for m, condition in enumerate(alternative["all"]):
                yield (part, n, "all", m), condition


def conditions_faults(data: Mapping[str, Any], entries: Entries) -> Iterator[EntryFault]:
    """Yield each fault in an entry's conditions, and each conflict with the entries that they name."""
    for at, condition in conditions_of(data):
        for place, found, expected in (*_condition_faults(condition), *_reference_faults(condition, entries)):
            yield (*at, *place), found, expected
    yield from _lone_wing_faults(data.get("when", ()), entries)
    for part in ("when", "unless"):
        for n, alternative in enumerate(data.get(part, ())):
            lists = [v for c in alternative["all"] for v in (c.get("is"), c.get("value")) if isinstance(v, list)]
            if (written_out := prod(map(len, lists))) > _MAX_WRITTEN_OUT:
                expected = f"lists of words that expand to at most {_MAX_WRITTEN_OUT} alternatives"
                yield (part, n, "all"), f"{written_out:,} alternatives", expected


def _condition_faults(condition: Mapping[str, Any]) -> Iterator[EntryFault]:
    for name in _BOUNDED:
        low, high = condition.get(f"{name}at_least"), condition.get(f"{name}at_most")
        if low is not None and high is not None and low > high:
            yield (f"{name}at_most",), brief(high), f"a number of at least {low} ({name}at_least)"
    if "is" in condition and ("at_least" in condition or "at_most" in condition):
        yield ("is",), brief(condition["is"]), "either is, or at_least and at_most"
    if "score" in condition:
        yield from _score_faults(condition)
    if "observed" in condition and not set(condition) - {"observed", "option", *QUALIFIERS}:
        yield (), "no test", "a share, chances, value, rating, amount or seen"


def _score_faults(condition: Mapping[str, Any]) -> Iterator[EntryFault]:
    if condition["score"] in SCORE_NUMBERS:
        low, high = SCORE_NUMBERS[condition["score"]]
        for at, value in (one for name in ("is", "at_least", "at_most") for one in listed(condition, name)):
            if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
                yield at, brief(value), f"a whole number from {low} to {high}"
    else:
        words = SCORE_WORDS[condition["score"]]
        for at, value in listed(condition, "is"):
            word = {True: "yes", False: "no"}[value] if isinstance(value, bool) else value
            if word not in words:
                yield at, brief(value), f"one of {', '.join(words)}"
        for bound in ("at_least", "at_most"):
            if bound in condition:
                yield (bound,), brief(condition[bound]), f"is with one of {', '.join(words)}"


def listed(condition: Mapping[str, Any], name: str) -> Iterator[tuple[Pointer, Any]]:
    """Yield each value of a field that may contain a single value or a list, with its place in the condition."""
    if isinstance(value := condition.get(name), list):
        yield from (((name, n), one) for n, one in enumerate(value))
    elif name in condition:
        yield (name,), value


def _reference_faults(condition: Mapping[str, Any], entries: Entries) -> Iterator[EntryFault]:
    named, wing = condition.get("belief"), condition.get("wing")
    trait = entries.data("traits", named) if named else None
    if trait and wing and trait["wing"] == "none":
        yield ("wing",), brief(wing), f"no wing: {named} has none"
    elif trait and wing not in (None, "same") and trait["wing"] not in ("each", wing):
        yield ("wing",), brief(wing), f"the wing of {named}: {trait['wing']}"
    for field in condition.keys() & {*PROFILE_SUBJECTS, "observed", "unseen"}:
        name = f"{field}.{condition[field]}" if field in PROFILE_SUBJECTS else condition[field]
        subject = name.partition(".")[0]
        if field in PROFILE_SUBJECTS and name not in entries.named["observations"]:
            yield (field,), brief(condition[field]), f"a known key of {field}"
        elif field not in PROFILE_SUBJECTS and subject in PROFILE_SUBJECTS:
            yield (field,), brief(name), f"a known observation, or {subject} with is, at_least or at_most"
        if kind := entries.data("observations", name):
            yield from _test_faults(condition, kind)


def _lone_wing_faults(when: Sequence[Mapping[str, Any]], entries: Entries) -> Iterator[EntryFault]:
    """Yield each condition with `wing: same` if no other condition in its alternative has a wing."""
    for n, alternative in enumerate(when):
        carrying = {m for m, condition in enumerate(alternative["all"]) if _carries_wing(condition, entries)}
        for m, condition in enumerate(alternative["all"]):
            if condition.get("wing") == "same" and carrying <= {m}:
                yield ("when", n, "all", m, "wing"), brief("same"), "another condition with a wing"


def _carries_wing(condition: Mapping[str, Any], entries: Entries) -> bool:
    if "belief" in condition:
        trait = entries.data("traits", condition["belief"])
        return trait is None or trait["wing"] != "none"
    if "observed" in condition:
        kind = entries.data("observations", condition["observed"])
        return kind is None or "wing" in kind.get("qualifiers", {})
    return False


def option_faults(kind: Mapping[str, Any], at: Pointer, value: Any) -> Iterator[EntryFault]:
    """Check that a word is one of the kind's options."""
    options = kind.get("options", ())
    if value not in options:
        yield at, brief(value), f"an option of {kind['id']}: {', '.join(options) or 'it has none'}"


def _test_faults(condition: Mapping[str, Any], kind: Mapping[str, Any]) -> Iterator[EntryFault]:
    """Yield each test that is out of range or does not fit the forms in which the kind may be posted."""
    name, ways, options = kind["id"], set(kind["ways"]), kind.get("options", ())
    for test in condition:
        for at, value in listed(condition, test):
            if (fitting := _ways_of(test, value)) and ways.isdisjoint(fitting):
                yield at, brief(value), f"a test that fits: {name} is posted as {', '.join(kind['ways'])}"
            elif fitting == ("value",) or test == "option":
                yield from option_faults(kind, at, value)
            elif "amount" in fitting and "amount" in ways:
                low, high = kind.get("low", -inf), kind.get("high", inf)
                if not low <= value <= high:
                    yield at, brief(value), f"an amount from {low} to {high} {kind.get('unit', '')}".rstrip()
            elif "rating" in fitting and not 0 <= value <= MAX_RATING:
                yield at, brief(value), f"a rating from 0 to {MAX_RATING}"
    if {"share_at_least", "share_at_most"} & condition.keys() and "option" not in condition and "count" not in ways:
        yield ("option",), "nothing", f"the option that the share counts: {', '.join(options)}"
    for qualifier in QUALIFIERS:
        if qualifier in condition and qualifier not in kind.get("qualifiers", {}):
            yield (qualifier,), brief(condition[qualifier]), f"no {qualifier}: {name} takes none"


def _ways_of(test: str, value: Any) -> tuple[str, ...]:
    """Return the forms of observation to which a test applies; empty if the field is not a test."""
    if test == "is" and isinstance(value, bool):
        return ("seen",)
    return ("value",) if test == "is" and isinstance(value, str) else _WAYS_OF_TESTS.get(test, ())


SCALE_PERMILLE = 1000
SCALE_OBSERVED = 100
OPEN = "open"
"""The level for a belief that observations have raised and nothing rules out: the price then decides."""
PLAIN_COUNT = "count"
"""The option name for a share that was posted as a plain count."""

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
    """Yield all alternatives that one list of conditions expands to; `levels` gives each level's probability."""
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
        # the pool: all observations of the kind, or those for one wing, court or serve
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
    """Return the name of the pool for these qualifiers, such as "court+wing"; "whole" if there are none."""
    return "+".join(sorted(qualifiers)) or "whole"


def _word(value: bool | str) -> str:
    return value if isinstance(value, str) else "yes" if value else "no"
