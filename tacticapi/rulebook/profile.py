"""Qualities, measures and regions as rule files write them ▶ the objects of the profile; what can be wrong in them."""

from collections.abc import Iterator, Mapping
from typing import Any

from tacticapi.rulebook.conditions import option_faults
from tacticapi.rulebook.entries import Entries, EntryFault
from tacticapi.rulebook.files import Pointer, brief

Data = Mapping[str, Any]
SIDES = ("forehand", "backhand")
FIGURES = ("rating", "word", "tau", "spots")
_WAYS: Mapping[str, tuple[str, ...]] = {
    "usual": ("count", "counts"),
    "words": ("value",),
    "amount": ("amount",),
    "seen": ("seen", "text"),
}


def kind_faults(data: Data, entries: Entries) -> Iterator[EntryFault]:
    """Yield each fault of the measures of a kind: an unknown quality, a reading that the kind is not said by."""
    ways, options = data["ways"], data.get("options", ())
    for n, line in enumerate(data.get("measures", ())):
        at: Pointer = ("measures", n)
        for place, found, expected in load_faults(line["loads"], entries, own_wing=False):
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


def trait_faults(data: Data, entries: Entries) -> Iterator[EntryFault]:
    """Yield each fault of the regions of a trait."""
    written = data.get("region", ())
    single = isinstance(written, dict)
    for n, one in enumerate([written] if single else written):
        at: Pointer = ("region",) if single else ("region", n)
        for place, found, expected in load_faults(one["of"], entries, own_wing=data["wing"] != "none"):
            yield (*at, "of", *place), found, expected
        if "between" in one and not one["between"][0] < one["between"][1]:
            yield (*at, "between"), brief(one["between"]), "the lower quantile first"


def load_faults(loads: Data, entries: Entries, *, own_wing: bool) -> Iterator[EntryFault]:
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
