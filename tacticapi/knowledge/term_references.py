"""Whether a piece of evidence names a kind of observation that exists, and reads it in a way that it allows."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tacticapi.knowledge.checks import OBSERVED_QUALIFIERS, Fault
from tacticapi.knowledge.condition_references import COUNTED, bound_faults, kind_of
from tacticapi.knowledge.entries import Entries
from tacticapi.knowledge.mistakes import Pointer, brief

_WAYS_OF_FORMS: Mapping[str, tuple[str, ...]] = {
    "shares": COUNTED,
    "ends": ("count",),
    "favourite": ("counts",),
    "ratings": ("rating",),
    "values": ("value",),
    "amount": ("amount",),
    "seen": ("seen",),
}


def term_faults(term: Mapping[str, Any], entries: Entries) -> Iterator[Fault]:
    """Each fault of one piece of evidence: its place, what was found, what was expected."""
    name = term["what"]
    kind, known = kind_of(name, entries)
    if not known:
        yield ("what",), brief(name), "a known observation"
    if term.get("rare") and entries.defaults and "rare_kappa" not in entries.defaults.data["words"][term["word"]]:
        yield ("rare",), brief(True), f"no rare: the word {term['word']} has no rare_kappa"
    if not kind:
        return
    form = next(form for form in _WAYS_OF_FORMS if form in term)
    if not set(_WAYS_OF_FORMS[form]) & set(kind["ways"]):
        yield (form,), brief(term[form]), f"evidence that fits: {name} is said by {', '.join(kind['ways'])}"
    yield from _option_faults(term, kind)
    for qualifier in OBSERVED_QUALIFIERS:
        if qualifier in term and qualifier not in kind.get("qualifiers", {}):
            yield (qualifier,), brief(term[qualifier]), f"no {qualifier}: {name} takes none"
    for side, edge in term.get("amount", {}).items():
        for bound, value in edge.items():
            yield from bound_faults(kind, ("amount", side, bound), value)


def _option_faults(term: Mapping[str, Any], kind: Mapping[str, Any]) -> Iterator[Fault]:
    options = kind.get("options", ())
    told: dict[Pointer, Sequence[str]] = {("options",): term.get("options", ())}
    told |= {("values", side): names for side, names in term.get("values", {}).items()}
    for at, names in told.items():
        for n, option in enumerate(names):
            if option not in options:
                yield (*at, n), brief(option), f"an option of {kind['id']}: {', '.join(options) or 'it has none'}"
    values = term.get("values", {})
    if "values" in term and set(values.get("for", ())) >= set(options):
        yield ("values", "for"), "all options", "at least one option left over"
    if "values" in term and set(values.get("against", ())) >= set(options):
        yield ("values", "against"), "all options", "at least one option left over"
    if "shares" in term and "options" not in term and "count" not in kind["ways"]:
        yield ("options",), "nothing", f"the options whose share is meant: {', '.join(options)}"
