"""Check what a schema cannot express about a single entry."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from tacticapi.rulebook.conditions import PROFILE_SUBJECTS, conditions_faults, conditions_of
from tacticapi.rulebook.entries import Entries, Entry, EntryFault
from tacticapi.rulebook.files import Mistake, Pointer, brief

CARE = ("physical", "law-and-conduct")
"""The categories that are no tactics: they alone may come first, before ability, or instead of everything else."""
SAFETY, LAW = 1, 2
DEFAULT_AUTHORITY = 8
_HOUSE_SAFETY = "physical"
_NO_GROUND_FOR_SAFETY = ("belief", "score", "tries", "unseen")
_CHOSEN_IN_COURT = {"usual_surface": "surfaces", "usual_level": "spreads"}
# fmt: off
_TEXTS = frozenset({
    "title", "say", "why", "not_if", "stop_when", "caution", "coaches_differ", "deprecated", "settled", "note",
    "backs", "means", "not_from", "asks", "says", "trap", "probe", "unused_because",
})
# fmt: on
_GENDERED = re.compile(r"\b(she|her|hers|herself|he|his|him|himself)\b", re.IGNORECASE)
_SIDED = re.compile(
    r"\b(left|right) of\b"
    r"|\b(left|right)[ -](side|wing|corner|half)\b"
    r"|\b(to|on|from|at) (the|their|your opponent's) (left|right)(?=\s*([.,;:)]|$))",
    re.IGNORECASE,
)


def entry_mistakes(entries: Entries) -> Iterator[Mistake]:
    """Yield the mistakes that show without looking at any other file."""
    by_kind = {"observations": _kind_faults, "categories": _category_faults, "tactics": _tactic_faults}
    by_kind["circumstances"] = _circumstance_faults
    for kind in ("sources", "observations", "traits", "categories", "circumstances", "tactics"):
        yield from entries.judged(kind, lambda entry: wording_faults(entry.data))
        yield from entries.judged(kind, lambda entry: conditions_faults(entry.data))
        if kind in by_kind:
            yield from entries.judged(kind, by_kind[kind])
    for entry in entries.of("tactics").values():
        yield from _wrong_category(entry)
    yield from entries.judged("tactics", lambda entry: _precedence_faults(entry, authority_of(entry, entries)))
    yield from entries.judged("court", lambda entry: court_faults(entry.data))


def _wrong_category(entry: Entry) -> Iterator[Mistake]:
    category, expected = entry.document.content.get("category"), entry.document.path.stem
    if category != expected and not entry.house:
        yield entry.document.mistake(("category",), brief(category), f"the file's own category: {expected}")


def authority_of(entry: Entry, entries: Entries) -> int:
    """Return the authority of a tactic, which its category gives if it states none."""
    category = entries.data("categories", entry.category) or {}
    return int(entry.data.get("authority", category.get("authority", DEFAULT_AUTHORITY)))


def _circumstance_faults(entry: Entry) -> Iterator[EntryFault]:
    if entry.house and "when" not in entry.data:
        yield ("when",), "nothing", "the field when: only our own circumstances are computed"


def _category_faults(entry: Entry) -> Iterator[EntryFault]:
    data = entry.data
    care = data["id"] in CARE
    if data["tactical"] is care:
        yield ("tactical",), brief(data["tactical"]), f"false for {' and '.join(CARE)}, true for all others"
    if data["authority"] <= LAW and not care:
        expected = f"{LAW + 1} or more: only {' and '.join(CARE)} come above ability"
        yield ("authority",), brief(data["authority"]), expected


def _precedence_faults(entry: Entry, authority: int) -> Iterator[EntryFault]:
    """Check what only care may claim (to come first, above ability, or alone) and what a line of safety rests on."""
    data, category = entry.data, entry.category
    first = data.get("show") == "first"
    if category not in CARE:
        if first:
            yield ("show",), brief("first"), f"due or nothing: only {' and '.join(CARE)} may be first"
        if authority <= LAW:
            yield ("authority",), brief(authority), f"{LAW + 1} or more: only {' and '.join(CARE)} come above ability"
    if data.get("alone") and not (category in CARE and authority == SAFETY and first):
        yield ("alone",), brief(True), f"authority {SAFETY}, show: first and one of {', '.join(CARE)} beside alone"
    if authority == SAFETY and entry.house and category != _HOUSE_SAFETY:
        yield ("authority",), brief(authority), f"{LAW} or more: a house rule of safety is one of {_HOUSE_SAFETY}"
    if authority == SAFETY:
        yield from _safety_faults(data)


def _safety_faults(data: Mapping[str, Any]) -> Iterator[EntryFault]:
    for name in ("targets", "needs"):
        if name in data:
            yield (name,), brief(data[name]), f"no {name}: a safety line is not a way of playing"
    for n, alternative in enumerate(data["when"]):
        if not alternative["all"]:
            yield ("when", n, "all"), "an empty list", "a condition: safety is shown for what was seen, never always"
    for at, condition in conditions_of({"when": data["when"]}):
        if found := next((name for name in _NO_GROUND_FOR_SAFETY if name in condition), None):
            yield (*at, found), brief(condition[found]), "the day, the court or the body: safety rests on nothing else"


def _kind_faults(entry: Entry) -> Iterator[EntryFault]:
    data, ways = entry.data, entry.data["ways"]
    subject = entry.document.content.get("subject")
    if data["id"].partition(".")[0] != subject:
        yield ("id",), brief(data["id"]), f"an id that begins with the file's subject: {subject}."
    if ("value" in ways or "counts" in ways) != ("options" in data):
        yield ("options",), brief(data.get("options")), "options exactly where value or counts is among the ways"
    if ("amount" in ways) != ("unit" in data):
        yield ("unit",), brief(data.get("unit")), "a unit exactly where amount is among the ways"
    for bound in ("low", "high"):
        if bound in data and "amount" not in ways:
            yield (bound,), brief(data[bound]), "bounds only where amount is among the ways"
    if "low" in data and "high" in data and data["low"] >= data["high"]:
        yield ("high",), brief(data["high"]), f"a number above low ({data['low']})"
    if subject in PROFILE_SUBJECTS and ("count" in ways or "counts" in ways):
        yield ("ways",), brief(ways), "rating, value, amount, seen or text for an item that is a key of the request"


def _tactic_faults(entry: Entry) -> Iterator[EntryFault]:
    data = entry.data
    for n, relation in enumerate(data.get("relations", ())):
        name, other = next((name, other) for name, other in relation.items() if name != "settled")
        if other == data["id"]:
            yield ("relations", n, name), brief(other), "another tactic"
    if (data["source"] == "house rule") and not entry.house:
        yield ("source",), brief(data["source"]), "common practice or a list of sources"


def court_faults(court: Mapping[str, Any]) -> Iterator[tuple[Pointer, str, str]]:
    """Check the names that are chosen from elsewhere in the file, and the values against their own bounds."""
    for name, among in _CHOSEN_IN_COURT.items():
        if court[name] not in court[among]:
            yield (name,), brief(court[name]), f"one of {', '.join(court[among])}"
    for at, number in _numbers(court):
        low, value, high = number.get("low", number["value"]), number["value"], number.get("high", number["value"])
        if not low <= value <= high:
            yield (*at, "value"), brief(value), f"a number from {low} to {high}"


def _numbers(part: Mapping[str, Any], at: Pointer = ()) -> Iterator[tuple[Pointer, Mapping[str, Any]]]:
    for name, below in part.items():
        if isinstance(below, Mapping):
            if "value" in below:
                yield (*at, name), below
            else:
                yield from _numbers(below, (*at, name))


def wording_faults(data: Any, at: Pointer = ()) -> Iterator[tuple[Pointer, str, str]]:
    """Check that each text below `data` says "your opponent" and "they", and names wings, never left or right."""
    if isinstance(data, dict):
        for name, value in data.items():
            if isinstance(value, str) and name in _TEXTS:
                yield from _faults_of(value, (*at, name))
            else:
                yield from wording_faults(value, (*at, name))
    elif isinstance(data, list):
        for place, value in enumerate(data):
            yield from wording_faults(value, (*at, place))


def _faults_of(text: str, at: Pointer) -> Iterator[tuple[Pointer, str, str]]:
    if found := _GENDERED.search(text):
        yield at, f'"{found.group()}"', "a text that says your opponent, they or them"
    if found := _SIDED.search(text):
        yield at, f'"{found.group()}"', "a text that names wings, never left or right"
