"""Read all rule files, check them, and build one rulebook, with house rules applied."""

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import is_dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

from cattrs import Converter
from cattrs.gen import make_dict_structure_fn

from tacticapi.domain.court import Place, Point
from tacticapi.domain.rules import (
    Alternative,
    Ball,
    Category,
    Circumstance,
    Condition,
    Counter,
    DangerWords,
    FactKind,
    Gate,
    Level,
    Measure,
    MomentRule,
    ObservationKind,
    Quality,
    Region,
    Relation,
    RelationKind,
    Rulebook,
    Source,
    Tactic,
    Trait,
)
from tacticapi.domain.situation import Moment, Show
from tacticapi.rulebook.checks import authority_of, mistakes_in, regions_of
from tacticapi.rulebook.conditions import expanded
from tacticapi.rulebook.entries import Entries, Entry, read_entries
from tacticapi.rulebook.files import RuleFileError, our_rules, read_document

Data = Mapping[str, Any]
T = TypeVar("T")
ByLevel = Mapping[Level, float]
_PAIRS = {"amount": ("usual", "step"), "seen": ("yes", "no")}
FIGURES = ("rating", "word", "tau", "spots")


def load(paths: Sequence[Path] | None = None) -> Rulebook:
    """Read and check these folders, and build the rulebook: ours first, then house rules; None means ours alone.

    Raises `RuleFileError` with every mistake found.
    """
    folders = [our_rules()] if paths is None else list(paths)
    entries = read_entries(folders)
    if mistakes := [*entries.mistakes, *mistakes_in(entries, folders[0])]:
        raise RuleFileError(mistakes)
    return _rulebook(entries)


@cache
def court_numbers() -> Data:
    """Return our court and ball numbers, which house rules cannot change. Raises RuleFileError."""
    content: Data = read_document(our_rules() / "court.yaml").content
    return content


def _rulebook(entries: Entries) -> Rulebook:
    def content(kind: str) -> Data:
        entry = next(iter(entries.by_kind[kind].values()))
        return cast(Data, entry.document.content)

    figures = content("qualities")
    defaults = {
        **content("defaults"),
        "profile": {name: figures[name] for name in FIGURES},
        "prices": {name: figure for name, figure in content("balls").items() if name != "balls"},
    }
    levels = defaults["levels"]
    # each file's name within its folder and parsed content, as canonical JSON
    canonical = json.dumps(entries.contents, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    data = {kind: {name: _spaced(entry.data) for name, entry in all_.items()} for kind, all_ in entries.by_kind.items()}

    def all_of(sort: type[T], kind: str) -> dict[str, T]:
        return {name: _built(sort, one) for name, one in data[kind].items()}

    circumstances = {
        name: Circumstance(
            name, one["means"], tuple(way for each in one.get("when", ()) for way in expanded(each["all"], levels))
        )
        for name, one in data["circumstances"].items()
    }
    tactics = {
        name: _tactic(data["tactics"][name], entry, authority_of(entry, entries), levels)
        for name, entry in entries.by_kind["tactics"].items()
    }
    return Rulebook(
        version=defaults["version"],
        digest=f"sha256:{hashlib.sha256(canonical.encode()).hexdigest()}",
        defaults=defaults,
        sources=all_of(Source, "sources"),
        kinds=all_of(ObservationKind, "observations"),
        qualities={name: _quality(one, figures["levels"]) for name, one in data["qualities"].items()},
        traits=all_of(Trait, "traits"),
        categories=all_of(Category, "categories"),
        moments={Moment(name): one for name, one in all_of(MomentRule, "moments").items()},
        circumstances=circumstances,
        tactics=with_house_rules(tactics, (entry.data for entry in entries.by_kind["house"].values())),
        balls=all_of(Ball, "balls"),
        places=all_of(Place, "places"),
        danger=_built(DangerWords, content("danger-signs")),
    )


def _spaced(data: Any) -> Any:
    """Return the data with single spaces in all strings, because YAML's folded blocks end in an unwanted line break."""
    if isinstance(data, str):
        return " ".join(data.split())
    if isinstance(data, list):
        return [_spaced(one) for one in data]
    return {name: _spaced(one) for name, one in data.items()} if isinstance(data, dict) else data


def _quality(data: Data, factors: Mapping[str, float]) -> Quality:
    """Build a quality; if its spread is a single number, that is the spread among club players."""
    spread = data["spread"]
    by_level = spread if isinstance(spread, dict) else {level: spread * factors[level] for level in Level}
    return _built(Quality, {**data, "has_wings": data["wing"] == "each", "spread": by_level})


def _tactic(data: Data, entry: Entry, authority: int, levels: Mapping[str, float]) -> Tactic:
    sources = data["source"] if isinstance(data["source"], list) else []
    when = [
        Alternative(all_of, one.get("say"), one.get("named", None if "say" in one else data.get("named")))
        for one in data["when"]
        for all_of in expanded(one["all"], levels)
    ]
    unless = [Counter(all_of, one["why"]) for one in data.get("unless", ()) for all_of in expanded(one["all"], levels)]
    show = data.get("show", Show.GAIN if "price" in data else Show.REMINDER)
    status = "house rule" if entry.house else "sourced" if sources else "common practice"
    read = {"category": entry.category, "when": when, "unless": unless, "show": show, "authority": authority}
    return _built(Tactic, {"needs": [], **data, **read, "sources": sources, "status": status, "house": entry.house})


def with_house_rules(tactics: Mapping[str, Tactic], house: Iterable[Data]) -> dict[str, Tactic]:
    """Apply each house.yaml in turn and return the tactics; muting a tactic also removes references to it."""
    kept = dict(tactics)
    for rules in house:
        for name, numbers in rules.get("reweight", {}).items():
            if name in kept:
                kept[name] = _reweighted(kept[name], numbers)
        for name in rules.get("mute", ()):
            kept.pop(name, None)
    while lost := [one for one in kept.values() if not _may_hold(one.conditions, kept)]:
        for tactic in lost:
            if when := tuple(one for one in tactic.when if _may_hold(one.conditions, kept)):
                unless = tuple(one for one in tactic.unless if _may_hold(one.conditions, kept))
                kept[tactic.id] = replace(tactic, when=when, unless=unless)
            else:
                del kept[tactic.id]
    for name, tactic in kept.items():
        if relations := [one for one in tactic.relations if one.to not in kept]:
            kept[name] = replace(tactic, relations=tuple(one for one in tactic.relations if one not in relations))
    return kept


def _reweighted(tactic: Tactic, numbers: Data) -> Tactic:
    if tactic.price is None:
        return replace(tactic, order=numbers.get("order", tactic.order))
    share, costs = (float(numbers.get(name, getattr(tactic.price, name))) for name in ("share", "costs"))
    return replace(tactic, price=replace(tactic.price, share=share, costs=costs))


def _may_hold(conditions: Iterable[Condition], kept: Mapping[str, Tactic]) -> bool:
    return all(c.kind is not FactKind.TRIES or c.name in kept for c in conditions)


def _built(kind: type[T], data: Data) -> T:
    return _CONVERTER.structure(data, kind)


def _read_region(data: Data) -> Data:
    if "lowest" in data:
        return {**data, "low": 0, "high": data["lowest"]}
    if "highest" in data:
        return {**data, "low": 1 - data["highest"], "high": 1}
    low, high = data.get("between") or (data["outer"] / 2, 1 - data["outer"] / 2)
    return {**data, "low": low, "high": high, "outer": "outer" in data}


def _read_relation(data: Data) -> Data:
    kind = next(one for one in RelationKind if one.value in data)
    return {**data, "kind": kind, "to": data[kind.value]}


_READ: Mapping[Any, Callable[[Any], Data]] = {
    Trait: lambda data: {**data, "regions": regions_of(data)},
    Region: _read_region,
    Measure: lambda data: data | {name: [data[name][end] for end in _PAIRS[name]] for name in _PAIRS if name in data},
    Relation: _read_relation,
    DangerWords: lambda data: {
        **data,
        **data["pain"],
        "pain_sites": data["pain"]["sites"],
        "not_pain": [data["pain"]["never"]],
    },
    Gate: lambda data: {**data, "keys": data.get("any_of") or [data["own"]]},
    Point: lambda data: dict(zip(("side", "aside", "along"), data, strict=True)),
}


def _converter() -> Converter:
    made = Converter(detailed_validation=False)
    made.register_structure_hook(float, lambda number, _: number)  # keeps a whole number an int

    @made.register_structure_hook_factory(is_dataclass)
    def _(kind: Any, converter: Converter) -> Callable[[Any, Any], Any]:
        read, make = _READ.get(kind, dict), make_dict_structure_fn(kind, converter)
        return lambda data, _: data if isinstance(data, kind) else make(read(data), kind)

    made.register_structure_hook_func(
        lambda kind: kind == ByLevel,
        lambda figure, _: {level: float(figure[level] if isinstance(figure, dict) else figure) for level in Level},
    )
    return made


_CONVERTER = _converter()
