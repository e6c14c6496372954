"""Whether a condition names what exists, and tests it in a way that it allows."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tacticapi.knowledge.checks import OBSERVED_QUALIFIERS, PROFILE_SUBJECTS, Fault, listed
from tacticapi.knowledge.conditions import HIGHEST_RATING
from tacticapi.knowledge.entries import Entries
from tacticapi.knowledge.mistakes import brief

COUNTED = ("count", "counts")
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
}


def kind_of(name: str, entries: Entries) -> tuple[dict[str, Any] | None, bool]:
    """The data of a kind of observation where it is sound, and whether the name is known at all."""
    return entries.data("observations", name), name in entries.named["observations"]


def condition_faults(condition: Mapping[str, Any], entries: Entries) -> Iterator[Fault]:
    """Each fault of one condition: its place in the condition, what was found, what was expected."""
    for field, kind, said in (("circumstance", "circumstances", "circumstance"), ("tries", "tactics", "tactic")):
        if field in condition and condition[field] not in entries.named[kind]:
            yield (field,), brief(condition[field]), f"a known {said}"
    if (name := condition.get("unseen")) and (not kind_of(name, entries)[1] or _is_profile(name)):
        yield ("unseen",), brief(name), "a known observation"
    if "belief" in condition:
        yield from _belief_faults(condition, entries)
    for subject in PROFILE_SUBJECTS:
        if subject in condition:
            yield from _profile_faults(subject, condition, entries)
    if "observed" in condition:
        yield from _observed_faults(condition, entries)


def lone_wing_faults(conditions: Sequence[Mapping[str, Any]], entries: Entries) -> Iterator[tuple[int, str, str]]:
    """A condition of the same wing where no other condition carries a wing: its place, and the fault."""
    carrying = [n for n, condition in enumerate(conditions) if _carries_wing(condition, entries)]
    for n, condition in enumerate(conditions):
        if condition.get("wing") == "same" and set(carrying) <= {n}:
            yield n, brief("same"), "another condition that carries a wing"


def _carries_wing(condition: Mapping[str, Any], entries: Entries) -> bool:
    if "belief" in condition:
        trait = entries.data("traits", condition["belief"])
        return trait is None or trait["wing"] != "none"
    if "observed" in condition:
        kind, _ = kind_of(condition["observed"], entries)
        return kind is None or "wing" in kind.get("qualifiers", {})
    return False


def bound_faults(kind: Mapping[str, Any], at: tuple[str | int, ...], value: float) -> Iterator[Fault]:
    """A bound of an amount that lies outside what the kind takes."""
    low, high = kind.get("low"), kind.get("high")
    if (low is not None and value < low) or (high is not None and value > high):
        yield at, brief(value), f"an amount from {low} to {high} {kind.get('unit', '')}".rstrip()


def _is_profile(name: str) -> bool:
    return name.partition(".")[0] in PROFILE_SUBJECTS


def _belief_faults(condition: Mapping[str, Any], entries: Entries) -> Iterator[Fault]:
    name, wing = condition["belief"], condition.get("wing")
    trait = entries.data("traits", name)
    if name not in entries.named["traits"]:
        yield ("belief",), brief(name), "a known trait"
    elif trait and wing and trait["wing"] == "none":
        yield ("wing",), brief(wing), f"no wing: {name} has none"
    elif trait and wing not in (None, "same") and trait["wing"] not in ("each", wing):
        yield ("wing",), brief(wing), f"the wing of {name}: {trait['wing']}"


def _profile_faults(subject: str, condition: Mapping[str, Any], entries: Entries) -> Iterator[Fault]:
    kind, known = kind_of(f"{subject}.{condition[subject]}", entries)
    if not known:
        yield (subject,), brief(condition[subject]), f"a known key of {subject}"
    if not kind:
        return
    ways = kind["ways"]
    for at, value in listed(condition, "is"):
        yield from _is_faults(kind, at, value)
    for bound in ("at_least", "at_most"):
        if bound in condition:
            value = condition[bound]
            if "rating" not in ways and "amount" not in ways:
                yield (bound,), brief(value), f"is: {kind['id']} is said by {', '.join(ways)}"
            elif "amount" not in ways and not 0 <= value <= HIGHEST_RATING:
                yield (bound,), brief(value), f"a rating from 0 to {HIGHEST_RATING}"
            elif "rating" not in ways:
                yield from bound_faults(kind, (bound,), value)


def _is_faults(kind: Mapping[str, Any], at: tuple[str | int, ...], value: Any) -> Iterator[Fault]:
    ways = kind["ways"]
    if isinstance(value, bool):
        if "seen" not in ways:
            yield at, brief(value), f"a word or number: {kind['id']} is said by {', '.join(ways)}"
    elif isinstance(value, str):
        if value not in kind.get("options", ()):
            yield at, brief(value), f"an option of {kind['id']}: {', '.join(kind.get('options', ())) or 'it has none'}"
    elif "rating" not in ways and "amount" not in ways:
        yield at, brief(value), f"a word: {kind['id']} is said by {', '.join(ways)}"
    elif "amount" in ways:
        yield from bound_faults(kind, at, value)
    elif not 0 <= value <= HIGHEST_RATING:
        yield at, brief(value), f"a rating from 0 to {HIGHEST_RATING}"


def _observed_faults(condition: Mapping[str, Any], entries: Entries) -> Iterator[Fault]:
    name = condition["observed"]
    kind, known = kind_of(name, entries)
    if not known:
        yield ("observed",), brief(name), "a known observation"
    elif _is_profile(name):
        yield ("observed",), brief(name), f"{name.partition('.')[0]} with is, at_least or at_most"
    if not kind:
        return
    for test, ways in _WAYS_OF_TESTS.items():
        if test in condition and not set(ways) & set(kind["ways"]):
            yield (test,), brief(condition[test]), f"a test that fits: {name} is said by {', '.join(kind['ways'])}"
    yield from _option_faults(condition, kind)
    for qualifier in OBSERVED_QUALIFIERS:
        if qualifier in condition and qualifier not in kind.get("qualifiers", {}):
            yield (qualifier,), brief(condition[qualifier]), f"no {qualifier}: {name} takes none"
    for test in ("amount_at_least", "amount_at_most"):
        if test in condition:
            yield from bound_faults(kind, (test,), condition[test])


def _option_faults(condition: Mapping[str, Any], kind: Mapping[str, Any]) -> Iterator[Fault]:
    options = kind.get("options", ())
    for at, value in [*listed(condition, "value"), *listed(condition, "option")]:
        if value not in options:
            yield at, brief(value), f"an option of {kind['id']}: {', '.join(options) or 'it has none'}"
    shared = "share_at_least" in condition or "share_at_most" in condition
    if shared and "option" not in condition and "count" not in kind["ways"]:
        yield ("option",), "nothing", f"the option whose share is meant: {', '.join(options)}"
