"""Check what a schema cannot express: each entry on its own, and references between entries."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any

from tacticapi.domain.situation import Moment
from tacticapi.rulebook.circumstances import COMPUTED
from tacticapi.rulebook.conditions import PROFILE_SUBJECTS, conditions_faults, conditions_of, option_faults
from tacticapi.rulebook.danger import sign_circumstance
from tacticapi.rulebook.entries import Entries, Entry, EntryFault, named_in
from tacticapi.rulebook.files import Mistake, Pointer, brief

Data = Mapping[str, Any]

CARE = ("physical", "law-and-conduct")
"""The categories that are not tactics: only they may come first, outrank ability, or replace everything else."""
SAFETY, LAW = 1, 2
DEFAULT_AUTHORITY = 8
SHARES_SUM = 1e-6
_HOUSE_SAFETY = "physical"
_NO_GROUND_FOR_SAFETY = ("belief", "score", "tries", "unseen")
_CHOSEN_IN_COURT = {"usual_surface": "surfaces", "usual_level": "spreads"}
_WAYS: Mapping[str, tuple[str, ...]] = {
    "usual": ("count", "counts"),
    "words": ("value",),
    "amount": ("amount",),
    "seen": ("seen", "text"),
}
_RELATIONS = ("supports", "conflicts", "overrides", "yields-to")
_NEEDED = ("defaults", "qualities", "balls", "danger-signs")
"""Files that must exist, because the rulebook uses their whole content."""
# fmt: off
_TEXTS = frozenset({
    "title", "say", "why", "not_if", "stop_when", "caution", "coaches_differ", "deprecated", "settled", "note",
    "backs", "means", "not_from", "asks", "says", "trap", "probe", "unused_because",
})
# fmt: on
_GENDERED = r"\b(she|her|hers|herself|he|his|him|himself)\b"
_SIDED = (
    r"\b(left|right) of\b"
    r"|\b(left|right)[ -](side|wing|corner|half)\b"
    r"|\b(to|on|from|at) (the|their|your opponent's) (left|right)(?=\s*([.,;:)]|$))"
)
_WORDING = (
    (re.compile(_GENDERED, re.IGNORECASE), 'text that says "your opponent", "they" or "them"'),
    (re.compile(_SIDED, re.IGNORECASE), "text that names wings, never left or right"),
)


def mistakes_in(entries: Entries, ours: Path) -> Iterator[Mistake]:
    """Yield the mistakes within and between entries. Missing files are reported in the folder `ours`."""
    yield from _missing_files(entries, ours)
    for kind, known in entries.by_kind.items():
        check = _CHECKS.get(kind)
        for entry in known.values():
            faults = [*_any_faults(kind, entry, entries), *(check(entry, entries) if check else ())]
            yield from (entry.mistake(*fault) for fault in faults)
    for entry in entries.by_kind["tactics"].values():
        category, expected = entry.document.content.get("category"), entry.document.path.stem
        if category != expected and not entry.house:
            yield entry.document.mistake(("category",), brief(category), f"the file's own category: {expected}")
    yield from _circles(entries)
    yield from _circumstance_mistakes(entries)


def _missing_files(entries: Entries, ours: Path) -> Iterator[Mistake]:
    for kind in _NEEDED:
        path = str(ours / f"{kind}.yaml")
        if not any(m.file == path for m in entries.mistakes) and not entries.by_kind[kind]:
            yield Mistake(path, 1, "", "nothing", f"the {kind} file")
    for moment in Moment:
        if moment not in entries.named["moments"]:
            yield Mistake(str(ours / "moments.yaml"), 1, "/moments", "nothing", f"an entry for the moment {moment}")


def _any_faults(kind: str, entry: Entry, entries: Entries) -> Iterator[EntryFault]:
    """Check what any entry may contain: text, references to other entries, and conditions."""
    yield from wording_faults(entry.data)
    for at, name, of in named_in(kind, entry.data):
        if _is_unknown(name, of, entries):
            yield at, brief(name), _KNOWN[of]
    yield from conditions_faults(entry.data, entries)


_KNOWN = {
    "tactics": "a known tactic",
    "categories": "a known category",
    "circumstances": "a known circumstance",
    "traits": "a known trait",
    "observations": "a known observation",
    "qualities": "a known quality",
    "balls": "a known ball (rules/balls.yaml)",
    "sources": "a key in the list of sources",
    "abilities": "a known ability in own that is rated",
}


def _is_unknown(name: str, of: str, entries: Entries) -> bool:
    if of == "abilities":
        kind = entries.data("observations", f"own.{name}")
        return f"own.{name}" not in entries.named["observations"] or bool(kind and "rating" not in kind["ways"])
    return (name.partition("/")[0] if of == "qualities" else name) not in entries.named[of]


def authority_of(entry: Entry, entries: Entries) -> int:
    """Return a tactic's authority: its own, or else its category's."""
    category = entries.data("categories", entry.category) or {}
    return int(entry.data.get("authority", category.get("authority", DEFAULT_AUTHORITY)))


def _circumstance_faults(entry: Entry, entries: Entries) -> Iterator[EntryFault]:
    signs = (sign["id"] for one in entries.by_kind["danger-signs"].values() for sign in one.data["signs"])
    computed = entry.data["id"] in {*COMPUTED, *map(sign_circumstance, signs)}
    if "when" in entry.data and computed:
        yield ("when",), "conditions", "no conditions: the service computes this circumstance"
    if "when" not in entry.data and not computed:
        yield ("when",), "nothing", "the field when: only our own computed circumstances omit it"


def _category_faults(entry: Entry, _: Entries) -> Iterator[EntryFault]:
    data = entry.data
    care = data["id"] in CARE
    if data["tactical"] is care:
        yield ("tactical",), brief(data["tactical"]), f"false for {' and '.join(CARE)}, true for all others"
    if data["authority"] <= LAW and not care:
        expected = f"{LAW + 1} or more: only {' and '.join(CARE)} rank above ability"
        yield ("authority",), brief(data["authority"]), expected


def _kind_faults(entry: Entry, entries: Entries) -> Iterator[EntryFault]:
    data, ways = entry.data, entry.data["ways"]
    subject = entry.document.content.get("subject")
    if data["id"].partition(".")[0] != subject:
        yield ("id",), brief(data["id"]), f"an id that begins with the file's subject: {subject}."
    if ("value" in ways or "counts" in ways) != ("options" in data):
        yield ("options",), brief(data.get("options")), "options if, and only if, value or counts is among the ways"
    if ("amount" in ways) != ("unit" in data):
        yield ("unit",), brief(data.get("unit")), "a unit if, and only if, amount is among the ways"
    for bound in ("low", "high"):
        if bound in data and "amount" not in ways:
            yield (bound,), brief(data[bound]), "bounds only if amount is among the ways"
    if "low" in data and "high" in data and data["low"] >= data["high"]:
        yield ("high",), brief(data["high"]), f"a number above low ({data['low']})"
    if subject in PROFILE_SUBJECTS and ("count" in ways or "counts" in ways):
        yield ("ways",), brief(ways), "rating, value, amount, seen or text for an item that is a key of the request"
    for n, line in enumerate(data.get("measures", ())):
        yield from _measure_faults(line, ("measures", n), data, entries)


def _measure_faults(line: Data, at: Pointer, kind: Data, entries: Entries) -> Iterator[EntryFault]:
    ways = kind["ways"]
    yield from _wing_faults(line["loads"], (*at, "loads"), entries, own_wing=False)
    for name, needed in _WAYS.items():
        if name in line and not set(needed) & set(ways):
            yield (*at, name), brief(line[name]), f"no {name}: {kind['id']} is posted as {', '.join(ways)}"
    for name in ("words", "options"):
        for option in line.get(name, ()):
            yield from option_faults(kind, (*at, name), option)
    if "usual" in line and "count" not in ways and not {"options", "largest"} & line.keys():
        expected = f"the options that the share counts: {', '.join(kind.get('options', ()))}"
        yield (*at, "options"), "nothing", expected


def regions_of(trait: Data) -> Sequence[Data]:
    """Return a trait's regions, which may be written as a single region or as a list."""
    region = trait.get("region", [])
    return region if isinstance(region, list) else [region]


def _trait_faults(entry: Entry, entries: Entries) -> Iterator[EntryFault]:
    data = entry.data
    for n, one in enumerate(regions_of(data)):
        at: Pointer = ("region",) if one is data["region"] else ("region", n)
        yield from _wing_faults(one["of"], (*at, "of"), entries, own_wing=data["wing"] != "none")
        if "between" in one and not one["between"][0] < one["between"][1]:
            yield (*at, "between"), brief(one["between"]), "the lower quantile first"


def _wing_faults(loads: Data, at: Pointer, entries: Entries, *, own_wing: bool) -> Iterator[EntryFault]:
    for name in loads:
        quality, _, side = name.partition("/")
        data = entries.data("qualities", quality)
        if side and data and data["wing"] == "none":
            yield (*at, name), brief(name), "a quality, with a wing only if it has wings"
        elif side == "other" and not own_wing:
            yield (*at, name), brief(name), "a named wing: nothing here has a wing of its own"


def _ball_faults(entry: Entry, entries: Entries) -> Iterator[EntryFault]:
    """Yield balls with invalid wings, mixes within a mix, and shares that do not sum to 1."""
    data = entry.data
    yield from _wing_faults(data.get("finds", {}), ("finds",), entries, own_wing=True)
    for name in data.get("of", {}):
        if "of" in (entries.data("balls", name) or {}):
            yield ("of", name), brief(name), "a ball that is not a mix"
    if "of" in data and abs(sum(data["of"].values()) - 1.0) > SHARES_SUM:
        yield ("of",), f"shares that sum to {sum(data['of'].values()):g}", "shares that sum to 1"


def _tactic_faults(entry: Entry, entries: Entries) -> Iterator[EntryFault]:
    data, category = entry.data, entry.category
    if category not in entries.named["categories"]:
        yield ("id",), f"the category {brief(category)}", "a file for a known category"
    if data["source"] == "house rule" and not entry.house:
        yield ("source",), brief(data["source"]), "common practice or a list of sources"
    for n, relation in enumerate(data.get("relations", ())):
        name, other = next((name, other) for name, other in relation.items() if name in _RELATIONS)
        if other == data["id"]:
            yield ("relations", n, name), brief(other), "another tactic"
        target = entries.by_kind["tactics"].get(other, entry)
        mine, theirs = (authority_of(one, entries) == SAFETY for one in (entry, target))
        aside = {"overrides": theirs and not mine, "yields-to": mine and not theirs}
        if aside.get(name, "by" in relation and mine != theirs):
            yield ("relations", n), brief(relation), "no relation that lets anything but safety override safety"
    if "price" in data:
        yield from _price_faults(data["price"], entries)
    yield from _precedence_faults(entry, authority_of(entry, entries))


def _price_faults(price: Data, entries: Entries) -> Iterator[EntryFault]:
    """Yield balls that change nothing, invalid wings, and fields that do not fit the price's points."""
    for n, sent in enumerate(price.get("sends", ())):
        if sent["ball"] == sent["instead_of"] and sent.get("wing", "either") == "either":
            yield ("price", "sends", n, "instead_of"), brief(sent["ball"]), "a different ball: this one changes nothing"
    aims = any(sent.get("wing") in ("aimed", "other") for sent in price.get("sends", ()))
    yield from _wing_faults(price.get("gives", {}), ("price", "gives"), entries, own_wing=aims)
    for part, points in (("moves", "serve"), ("spot", "return")):
        if part in price and price["points"] != points:
            yield ("price", part), brief(price[part]), f"no {part}, or points: {points}"


def _precedence_faults(entry: Entry, authority: int) -> Iterator[EntryFault]:
    """Check the privileges of care (to come first, above ability, or alone) and what a safety line may depend on."""
    data, category = entry.data, entry.category
    first = data.get("show") == "first"
    if category not in CARE:
        if first:
            yield ("show",), brief("first"), f"due or nothing: only {' and '.join(CARE)} may be first"
        if authority <= LAW:
            yield ("authority",), brief(authority), f"{LAW + 1} or more: only {' and '.join(CARE)} rank above ability"
    if data.get("alone") and not (category in CARE and authority == SAFETY and first):
        yield ("alone",), brief(True), f"authority {SAFETY}, show: first and one of {', '.join(CARE)}, or not alone"
    if authority == SAFETY and entry.house and category != _HOUSE_SAFETY:
        yield ("authority",), brief(authority), f"{LAW} or more: a house rule for safety belongs to {_HOUSE_SAFETY}"
    if authority == SAFETY:
        yield from _safety_faults(data)


def _safety_faults(data: Data) -> Iterator[EntryFault]:
    for name in ("targets", "needs"):
        if name in data:
            yield (name,), brief(data[name]), f"no {name}: a safety line is not a way of playing"
    for n, alternative in enumerate(data["when"]):
        if not alternative["all"]:
            yield ("when", n, "all"), "an empty list", "a condition: a safety line is never shown without a condition"
    for at, condition in conditions_of({"when": data["when"]}):
        if found := next((name for name in _NO_GROUND_FOR_SAFETY if name in condition), None):
            yield (*at, found), brief(condition[found]), "the day, the court or the body: safety depends only on these"


def _house_faults(entry: Entry, entries: Entries) -> Iterator[EntryFault]:
    """Yield attempts by house rules to mute safety lines or to change figures that a tactic does not have."""
    for n, name in enumerate(entry.data.get("mute", ())):
        tactic = entries.by_kind["tactics"].get(name)
        if tactic and authority_of(tactic, entries) == SAFETY:
            yield ("mute", n), brief(name), "a tactic that is not a safety line: safety lines cannot be muted"
    for name, numbers in entry.data.get("reweight", {}).items():
        if known := entries.data("tactics", name):
            fields = ("share", "costs") if "price" in known else ("order",)
            for field in numbers.keys() - {*fields}:
                yield ("reweight", name, field), brief(numbers[field]), f"{' or '.join(fields)} for this tactic"


def court_faults(court: Data) -> Iterator[EntryFault]:
    """Check that each name chosen in the file exists there, and that each value is within its bounds."""
    for name, among in _CHOSEN_IN_COURT.items():
        if court[name] not in court[among]:
            yield (name,), brief(court[name]), f"one of {', '.join(court[among])}"
    for at, number in _numbers(court):
        low, value, high = number.get("low", number["value"]), number["value"], number.get("high", number["value"])
        if not low <= value <= high:
            yield (*at, "value"), brief(value), f"a number from {low} to {high}"


def _numbers(part: Data, at: Pointer = ()) -> Iterator[tuple[Pointer, Data]]:
    for name, below in part.items():
        if isinstance(below, Mapping):
            if "value" in below:
                yield (*at, name), below
            else:
                yield from _numbers(below, (*at, name))


_CHECKS: Mapping[str, Callable[[Entry, Entries], Iterable[EntryFault]]] = {
    "observations": _kind_faults,
    "traits": _trait_faults,
    "categories": _category_faults,
    "circumstances": _circumstance_faults,
    "tactics": _tactic_faults,
    "balls": _ball_faults,
    "house": _house_faults,
    "court": lambda entry, _: court_faults(entry.data),
}


def wording_faults(data: Any, at: Pointer = ()) -> Iterator[EntryFault]:
    """Check that each string in `data` says "your opponent" or "they", and names wings, never left or right."""
    parts = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for name, value in parts:
        if isinstance(value, str) and name in _TEXTS:
            for wrong, expected in _WORDING:
                if found := wrong.search(value):
                    yield (*at, name), f'"{found.group()}"', expected
        else:
            yield from wording_faults(value, (*at, name))


def _circles(entries: Entries) -> Iterator[Mistake]:
    """Yield each cycle of tactics that override one another, because none of them could ever be shown."""
    tactics = entries.by_kind["tactics"]
    losers: dict[str, set[str]] = {name: set() for name in tactics}
    for name, entry in tactics.items():
        for relation in entry.data.get("relations", ()):
            if (other := relation.get("overrides")) in tactics:
                losers[name].add(other)
            if (other := relation.get("yields-to")) in tactics:
                losers[other].add(name)
    yield from _circle_in(losers, tactics, "relations", "overrides without a cycle")


def _circumstance_mistakes(entries: Entries) -> Iterator[Mistake]:
    circumstances = entries.by_kind["circumstances"]
    needs: dict[str, set[str]] = {}
    used: set[str] = set()
    for kind in ("circumstances", "tactics"):
        for name, entry in entries.by_kind[kind].items():
            named = {c["circumstance"] for _, c in conditions_of(entry.data) if "circumstance" in c}
            used |= named
            if kind == "circumstances" and "when" in entry.data:
                needs[name] = named
    whole = all(len(entries.by_kind[kind]) == len(entries.named[kind]) for kind in ("circumstances", "tactics"))
    for name in needs.keys() - used if whole else ():  # an invalid entry, which was left out, may use it
        yield circumstances[name].mistake(("id",), brief(name), "a circumstance that some tactic uses")
    yield from _circle_in(needs, circumstances, "when", "no cycle")


def _circle_in(
    needs: Mapping[str, Iterable[str]], known: Mapping[str, Entry], field: str, expected: str
) -> Iterator[Mistake]:
    try:
        TopologicalSorter(needs).prepare()
    except CycleError as circle:
        path = circle.args[1]
        yield known[path[0]].mistake((field,), f"a cycle: {' > '.join(path)}", expected)
