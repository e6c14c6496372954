"""Check what the entries say of one another: every name must exist, and be used in a way that it allows."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from tacticapi.domain.situation import Moment
from tacticapi.rulebook.checks import SAFETY, authority_of
from tacticapi.rulebook.conditions import (
    circle_in,
    conditions_of,
    kind_of,
    lone_wing_faults,
    option_faults,
    reference_faults,
)
from tacticapi.rulebook.entries import Entries, Entry, EntryFault
from tacticapi.rulebook.files import Mistake, Pointer, brief

SHARES_SUM = 1e-6
SIDES = ("forehand", "backhand")
_WAYS: Mapping[str, tuple[str, ...]] = {
    "usual": ("count", "counts"),
    "words": ("value",),
    "amount": ("amount",),
    "seen": ("seen", "text"),
}
_RELATIONS = ("supports", "conflicts", "overrides", "yields-to")


def reference_mistakes(entries: Entries, ours: Path) -> Iterator[Mistake]:
    """Yield the mistakes between files. `ours` names the folder in which a file is missing."""
    yield from _missing_files(entries, ours)
    for kind in ("circumstances", "tactics"):
        yield from entries.judged(kind, lambda entry: _rule_faults(entry.data, entries))
    yield from entries.judged("tactics", lambda entry: _tactic_faults(entry, entries))
    yield from entries.judged("observations", lambda entry: _kind_faults(entry.data, entries))
    yield from entries.judged("traits", lambda entry: _trait_faults(entry.data, entries))
    yield from _circles(entries)
    yield from _circumstance_mistakes(entries)
    yield from entries.judged("moments", lambda entry: _moment_faults(entry.data, entries))
    yield from entries.judged("places", lambda entry: _unknown_tactic(entry.data, entries))
    yield from entries.judged("balls", lambda entry: _ball_faults(entry.data, entries))
    yield from entries.judged("house", lambda entry: _house_faults(entry.data, entries))


def _moment_faults(data: Mapping[str, Any], entries: Entries) -> Iterator[EntryFault]:
    for n, category in enumerate(data["reminders"]):
        if category not in entries.named["categories"]:
            yield ("reminders", n), brief(category), "a known category"


def _unknown_tactic(data: Mapping[str, Any], entries: Entries) -> Iterator[EntryFault]:
    if data["tactic"] not in entries.named["tactics"]:
        yield ("tactic",), brief(data["tactic"]), "a known tactic"


def _rule_faults(data: Mapping[str, Any], entries: Entries) -> Iterator[EntryFault]:
    for at, condition in conditions_of(data):
        for place, found, expected in reference_faults(condition, entries):
            yield (*at, *place), found, expected
    for n, alternative in enumerate(data.get("when", ())):
        for m, found, expected in lone_wing_faults(alternative["all"], entries):
            yield ("when", n, "all", m, "wing"), found, expected


def _ball_faults(data: Mapping[str, Any], entries: Entries) -> Iterator[EntryFault]:
    """Yield unknown qualities that a ball finds, and of a mix unknown balls, mixes, and shares that do not sum to 1."""
    for place, found, expected in _load_faults(data.get("finds", {}), entries, own_wing=True):
        yield ("finds", *place), found, expected
    for name in data.get("of", {}):
        if name not in entries.named["balls"] or "of" in (entries.data("balls", name) or {}):
            yield ("of", name), brief(name), "a known ball that is no mix"
    if "of" in data and abs(sum(data["of"].values()) - 1.0) > SHARES_SUM:
        yield ("of",), f"shares that sum to {sum(data['of'].values()):g}", "shares that sum to 1"


def _price_faults(price: Mapping[str, Any], entries: Entries) -> Iterator[EntryFault]:
    """Yield names that a price does not know, and parts that its points do not have."""
    for n, sent in enumerate(price.get("sends", ())):
        for name in ("ball", "instead_of"):
            if sent[name] not in entries.named["balls"]:
                yield ("price", "sends", n, name), brief(sent[name]), "a known ball (rules/balls.yaml)"
        if sent["ball"] == sent["instead_of"] and sent.get("wing", "either") == "either":
            yield ("price", "sends", n, "instead_of"), brief(sent["ball"]), "another ball: this one changes nothing"
    aims = any(sent.get("wing") in ("aimed", "other") for sent in price.get("sends", ()))
    for place, found, expected in _load_faults(price.get("gives", {}), entries, own_wing=aims):
        yield ("price", "gives", *place), found, expected
    for key in price.get("own", {}):
        kind, known = kind_of(f"own.{key}", entries)
        if not known or (kind and "rating" not in kind["ways"]):
            yield ("price", "own", key), brief(key), "an own ability that is rated"
    for part, points in (("moves", "serve"), ("spot", "return")):
        if part in price and price["points"] != points:
            yield ("price", part), brief(price[part]), f"no {part}, or points: {points}"


def _circles(entries: Entries) -> Iterator[Mistake]:
    """Yield tactics of which each sets the next one aside in a circle, so that none could ever be shown."""
    tactics = entries.of("tactics")
    losers: dict[str, set[str]] = {name: set() for name in tactics}
    for name, entry in tactics.items():
        for relation in entry.data.get("relations", ()):
            if (other := relation.get("overrides")) in tactics:
                losers[name].add(other)
            if (other := relation.get("yields-to")) in tactics:
                losers[other].add(name)
    if path := circle_in(losers):
        yield tactics[path[0]].mistake(("relations",), f"a circle: {' > '.join(path)}", "overrides without a circle")


def _circumstance_mistakes(entries: Entries) -> Iterator[Mistake]:
    """Yield circumstances that are derived in a circle, or that nothing asks for."""
    needs: dict[str, set[str]] = {}
    used: set[str] = set()
    for kind in ("circumstances", "tactics"):
        for name, entry in entries.of(kind).items():
            named = {c["circumstance"] for _, c in conditions_of(entry.data) if "circumstance" in c}
            used |= named
            if kind == "circumstances" and "when" in entry.data:
                needs[name] = named
    whole = all(len(entries.of(kind)) == len(entries.named[kind]) for kind in ("circumstances", "tactics"))
    for name in needs.keys() - used if whole else ():  # one that is left out for its own mistake may use it
        yield entries.of("circumstances")[name].mistake(("id",), brief(name), "a circumstance that a tactic asks for")
    if path := circle_in(needs):
        yield entries.of("circumstances")[path[0]].mistake(("when",), f"a circle: {' > '.join(path)}", "no circle")


def _missing_files(entries: Entries, ours: Path) -> Iterator[Mistake]:
    if not entries.of("defaults") and not any(m.file == str(ours / "defaults.yaml") for m in entries.mistakes):
        yield Mistake(str(ours / "defaults.yaml"), 1, "", "nothing", "the file of defaults")
    for moment in Moment:
        if moment not in entries.named["moments"]:
            yield Mistake(str(ours / "moments.yaml"), 1, "/moments", "nothing", f"what the moment {moment} may show")


def _tactic_faults(entry: Entry, entries: Entries) -> Iterator[EntryFault]:
    data, category = entry.data, entry.category
    if category not in entries.named["categories"]:
        yield ("id",), f"the category {brief(category)}", "a file of a known category"
    for n, need in enumerate(data.get("needs", ())):
        for key in need.get("any_of") or [need["own"]]:
            kind, known = kind_of(f"own.{key}", entries)
            place = ("needs", n, "any_of" if "any_of" in need else "own")
            if not known:
                yield place, brief(key), "a known own ability"
            elif kind and "rating" not in kind["ways"]:
                yield place, brief(key), "an own ability that is rated"
    if "price" in data:
        yield from _price_faults(data["price"], entries)
    for n, relation in enumerate(data.get("relations", ())):
        for name in _RELATIONS:
            if name in relation and relation[name] not in entries.named["tactics"]:
                yield ("relations", n, name), brief(relation[name]), "a known tactic"
        if _sets_safety_aside(entry, relation, entries):
            yield ("relations", n), brief(relation), "no relation that sets safety aside for anything but safety"
    sources: Sequence[Mapping[str, Any]] = data["source"] if isinstance(data["source"], list) else ()
    for n, source in enumerate(sources):
        if source["key"] not in entries.named["sources"]:
            yield ("source", n, "key"), brief(source["key"]), "a key of the list of sources"


def _sets_safety_aside(entry: Entry, relation: Mapping[str, Any], entries: Entries) -> bool:
    """Return whether a relation lets something else win over a line of safety."""
    other = next((relation[name] for name in _RELATIONS if name in relation), None)
    if other not in entries.of("tactics"):
        return False
    mine, theirs = (authority_of(one, entries) == SAFETY for one in (entry, entries.of("tactics")[other]))
    if "overrides" in relation:
        return theirs and not mine
    if "yields-to" in relation:
        return mine and not theirs
    return "by" in relation and mine != theirs


def _house_faults(data: Mapping[str, Any], entries: Entries) -> Iterator[EntryFault]:
    for n, tactic in enumerate(data.get("mute", ())):
        if tactic not in entries.named["tactics"]:
            yield ("mute", n), brief(tactic), "a known tactic"
        elif (entry := entries.of("tactics").get(tactic)) and authority_of(entry, entries) == SAFETY:
            yield ("mute", n), brief(tactic), "a tactic that is no safety line: these stay in every house"
    for tactic, numbers in data.get("reweight", {}).items():
        if tactic not in entries.named["tactics"]:
            yield ("reweight", tactic), brief(tactic), "a known tactic"
        elif known := entries.data("tactics", tactic):
            fields = ("share", "costs") if "price" in known else ("order",)
            for name in numbers.keys() - {*fields}:
                yield ("reweight", tactic, name), brief(numbers[name]), f"{' or '.join(fields)} for this tactic"


def _kind_faults(data: Mapping[str, Any], entries: Entries) -> Iterator[EntryFault]:
    """Yield each fault of the measures of a kind: an unknown quality, a reading that the kind is not said by."""
    ways, options = data["ways"], data.get("options", ())
    for n, line in enumerate(data.get("measures", ())):
        at: Pointer = ("measures", n)
        for place, found, expected in _load_faults(line["loads"], entries, own_wing=False):
            yield (*at, "loads", *place), found, expected
        for name, needed in _WAYS.items():
            if name in line and not set(needed) & set(ways):
                yield (*at, name), brief(line[name]), f"no {name}: {data['id']} is said by {', '.join(ways)}"
        for name in ("words", "options"):
            for option in line.get(name, ()):
                yield from option_faults(data, (*at, name), option)
        if "usual" in line and "count" not in ways and not {"options", "largest"} & line.keys():
            yield (*at, "options"), "nothing", f"the options whose share is meant: {', '.join(options)}"
    twin = data.get("same_as")
    if twin is not None and twin not in entries.named["observations"]:
        yield ("same_as",), brief(twin), "a known observation"


def _trait_faults(data: Mapping[str, Any], entries: Entries) -> Iterator[EntryFault]:
    written = data.get("region", ())
    single = isinstance(written, dict)
    for n, one in enumerate([written] if single else written):
        at: Pointer = ("region",) if single else ("region", n)
        for place, found, expected in _load_faults(one["of"], entries, own_wing=data["wing"] != "none"):
            yield (*at, "of", *place), found, expected
        if "between" in one and not one["between"][0] < one["between"][1]:
            yield (*at, "between"), brief(one["between"]), "the lower quantile first"


def _load_faults(loads: Mapping[str, Any], entries: Entries, *, own_wing: bool) -> Iterator[EntryFault]:
    """Yield each name among loads that is no quality, or has a wing that the quality has not."""
    for name in loads:
        quality_id, _, side = name.partition("/")
        if quality_id not in entries.named["qualities"]:
            yield (name,), brief(name), "a known quality"
        elif entry := entries.of("qualities").get(quality_id):
            if side and (entry.data["wing"] == "none" or side not in (*SIDES, "other")):
                yield (name,), brief(name), "a quality, with a wing only if it has one"
            elif side == "other" and not own_wing:
                yield (name,), brief(name), "a wing by name: nothing here has a wing of its own"
