"""What a schema cannot say about one entry by itself."""

from collections.abc import Iterator, Mapping
from math import prod
from typing import Any

from tacticapi.knowledge.build import LOWEST_AUTHORITY
from tacticapi.knowledge.court import court_faults
from tacticapi.knowledge.entries import Entries, Entry
from tacticapi.knowledge.mistakes import Mistake, Pointer, brief
from tacticapi.knowledge.wording import wording_faults

PROFILE_SUBJECTS = ("context", "own", "opponent")
SCORE_WORDS: Mapping[str, tuple[str, ...]] = {
    "serving": ("own", "opponent"),
    "court": ("deuce", "ad", "either"),
    "tie_break": ("yes",),
}
CARE = ("physical", "law-and-conduct")
"""The categories that are no tactics: they alone may come first, before ability, or instead of everything else."""
SAFETY, LAW = 1, 2
HOUSE_SAFETY = "physical"
_NO_GROUND_FOR_SAFETY = ("belief", "score", "tries", "unseen")
MOST_GAMES = 999  # of a set, as a posted score may have them
SCORE_NUMBERS: Mapping[str, tuple[int, int]] = {
    "importance": (0, 1000),
    "games_completed": (0, 10 * MOST_GAMES),
    "set_games": (0, 2 * MOST_GAMES),
    "set_number": (1, 5),
    "games_ahead": (-MOST_GAMES, MOST_GAMES),
    "sets_ahead": (-3, 3),
    "breaks_ahead": (-MOST_GAMES, MOST_GAMES),
}
BOUNDED = ("", "share_", "rating_", "amount_")
MOST_WRITTEN_OUT = 64
"""Lists of words multiply: the most alternatives that one list of conditions may stand for."""
OBSERVED_QUALIFIERS = ("wing", "court", "serve")

Fault = tuple[Pointer, str, str]


def entry_mistakes(entries: Entries) -> Iterator[Mistake]:
    """Mistakes that show without looking at any other file."""
    by_kind = {
        "observations": _kind_faults,
        "categories": _category_faults,
        "circumstances": _circumstance_faults,
        "tactics": _tactic_faults,
    }
    for kind in ("sources", "observations", "traits", "categories", "circumstances", "tactics"):
        for entry in entries.of(kind).values():
            for fault in wording_faults(entry.data):
                yield entry.mistake(*fault)
            for fault in by_kind[kind](entry) if kind in by_kind else ():
                yield entry.mistake(*fault)
            for fault in _conditions_faults(entry.data):
                yield entry.mistake(*fault)
    for entry in entries.of("tactics").values():
        yield from _wrong_category(entry)
        for fault in _precedence_faults(entry, authority_of(entry, entries)):
            yield entry.mistake(*fault)
    if entries.court:
        for fault in court_faults(entries.court.data):
            yield entries.court.mistake(*fault)


def _wrong_category(entry: Entry) -> Iterator[Mistake]:
    category, expected = entry.document.content.get("category"), entry.document.path.stem
    if category != expected and not entry.house:
        yield entry.document.mistake(("category",), brief(category), f"the file's own category: {expected}")


def authority_of(entry: Entry, entries: Entries) -> int:
    """The authority of a tactic, which its category gives if it states none."""
    category = entries.data("categories", entry.category) or {}
    return int(entry.data.get("authority", category.get("authority", LOWEST_AUTHORITY)))


def _circumstance_faults(entry: Entry) -> Iterator[Fault]:
    if entry.house and "when" not in entry.data:
        yield ("when",), "nothing", "the field when: only our own circumstances are computed"


def _category_faults(entry: Entry) -> Iterator[Fault]:
    data = entry.data
    care = data["id"] in CARE
    if data["tactical"] is care:
        yield ("tactical",), brief(data["tactical"]), f"false for {' and '.join(CARE)}, true for all others"
    if data["authority"] <= LAW and not care:
        yield (
            ("authority",),
            brief(data["authority"]),
            f"{LAW + 1} or more: only {' and '.join(CARE)} come above ability",
        )


def _precedence_faults(entry: Entry, authority: int) -> Iterator[Fault]:
    """What only care may claim: to come first, above ability, or alone; and what a line of safety may not rest on."""
    data, category = entry.data, entry.category
    first = data.get("show") == "first"
    if category not in CARE:
        if first:
            yield ("show",), brief("first"), f"gain or reminder: only {' and '.join(CARE)} are shown first"
        if authority <= LAW:
            yield ("authority",), brief(authority), f"{LAW + 1} or more: only {' and '.join(CARE)} come above ability"
    if data.get("alone") and not (category in CARE and authority == SAFETY and first):
        yield ("alone",), brief(True), f"authority {SAFETY}, show: first and one of {', '.join(CARE)} beside alone"
    if authority == SAFETY and entry.house and category != HOUSE_SAFETY:
        yield ("authority",), brief(authority), f"{LAW} or more: a house rule of safety is one of {HOUSE_SAFETY}"
    if authority == SAFETY:
        yield from _safety_faults(data)


def _safety_faults(data: Mapping[str, Any]) -> Iterator[Fault]:
    for name in ("targets", "needs"):
        if name in data:
            yield (name,), brief(data[name]), f"no {name}: a line of safety is no way of playing"
    for n, alternative in enumerate(data["when"]):
        if not alternative["all"]:
            yield ("when", n, "all"), "an empty list", "a condition: safety is shown for what was seen, never always"
    for at, condition in conditions_of({"when": data["when"]}):
        if found := next((name for name in _NO_GROUND_FOR_SAFETY if name in condition), None):
            yield (*at, found), brief(condition[found]), "the day, the court or the body: safety rests on nothing else"


def conditions_of(data: Mapping[str, Any]) -> Iterator[tuple[Pointer, dict[str, Any]]]:
    """Every condition of a tactic or circumstance, with its place."""
    for part in ("when", "unless"):
        for n, alternative in enumerate(data.get(part, ())):
            for m, condition in enumerate(alternative["all"]):
                yield (part, n, "all", m), condition


def _kind_faults(entry: Entry) -> Iterator[Fault]:
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


def _tactic_faults(entry: Entry) -> Iterator[Fault]:
    data = entry.data
    for n, relation in enumerate(data.get("relations", ())):
        name, other = next((name, other) for name, other in relation.items() if name != "settled")
        if other == data["id"]:
            yield ("relations", n, name), brief(other), "another tactic"
    if (data["source"] == "house rule") and not entry.house:
        yield ("source",), brief(data["source"]), "common practice or a list of sources"


def _conditions_faults(data: Mapping[str, Any]) -> Iterator[Fault]:
    for at, condition in conditions_of(data):
        for place, found, expected in _condition_faults(condition):
            yield (*at, *place), found, expected
    for part in ("when", "unless"):
        for n, alternative in enumerate(data.get(part, ())):
            lists = [v for c in alternative["all"] for v in (c.get("is"), c.get("value")) if isinstance(v, list)]
            if (written_out := prod(map(len, lists))) > MOST_WRITTEN_OUT:
                expected = f"lists of words that stand for at most {MOST_WRITTEN_OUT} alternatives together"
                yield (part, n, "all"), f"{written_out:,} of them", expected


def _condition_faults(condition: Mapping[str, Any]) -> Iterator[Fault]:
    for name in BOUNDED:
        low, high = condition.get(f"{name}at_least"), condition.get(f"{name}at_most")
        if low is not None and high is not None and low > high:
            yield (f"{name}at_most",), brief(high), f"a number from {name}at_least ({low}): nothing reaches both"
    if "is" in condition and ("at_least" in condition or "at_most" in condition):
        yield ("is",), brief(condition["is"]), "either is, or at_least and at_most"
    if "score" in condition:
        yield from _score_faults(condition)
    if "observed" in condition and not set(condition) - {"observed", "option", *OBSERVED_QUALIFIERS}:
        yield (), "no test", "a share, chances, value, rating, amount or seen"


def _score_faults(condition: Mapping[str, Any]) -> Iterator[Fault]:
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
    """Each value under a field that may hold one or a list of them, with its place in the condition."""
    if isinstance(value := condition.get(name), list):
        yield from (((name, n), one) for n, one in enumerate(value))
    elif name in condition:
        yield (name,), value
