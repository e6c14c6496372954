"""Read all rule files, check them, and build one rulebook, with house rules applied."""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from tacticapi.domain.court import Place, PlacedMark, PlacedWay, Point, Side
from tacticapi.domain.rules import (
    NO_WORDS,
    Aim,
    Alternative,
    Ball,
    Category,
    Circumstance,
    Condition,
    Counter,
    DangerSign,
    DangerWords,
    FactKind,
    Gate,
    MomentRule,
    ObservationKind,
    Price,
    Relation,
    RelationKind,
    Rulebook,
    Sent,
    Source,
    SourceRef,
    Tactic,
    Touches,
    Trait,
    WingRule,
)
from tacticapi.domain.situation import Moment, Phase, Show, Way
from tacticapi.rulebook import profile
from tacticapi.rulebook.checks import authority_of, entry_mistakes
from tacticapi.rulebook.entries import Entries, read_entries
from tacticapi.rulebook.expansion import expanded
from tacticapi.rulebook.files import RuleFileError, our_rules, read_document
from tacticapi.rulebook.references import reference_mistakes

Data = Mapping[str, Any]
COMMON_PRACTICE, SOURCED, HOUSE_RULE = "common practice", "sourced", "house rule"
_PLAIN_OF_TACTIC = (
    "id", "title", "say", "why", "not_if", "stop_when", "risk", "caution", "coaches_differ", "deprecated", "targets",
    "alone", "tires", "order",
)  # fmt: skip


def load(paths: Sequence[Path] | None = None, *, strict: bool = True) -> Rulebook:
    """Read, check and build the rulebook of these folders: ours first, then house rules; None means ours alone.

    Without `strict`, names are not looked up across files, and what cannot be built is left out. Raises
    `RuleFileError` with every mistake found.
    """
    folders = [our_rules()] if paths is None else list(paths)
    entries = read_entries(folders)
    mistakes = [*entries.mistakes, *entry_mistakes(entries)]
    if strict and folders:
        mistakes += reference_mistakes(entries, folders[0])
    if mistakes:
        raise RuleFileError(mistakes)
    return _rulebook(entries)


@cache
def court_numbers() -> Data:
    """Return the numbers of court and ball of our rules, which house rules do not change. Raises RuleFileError."""
    content: Data = read_document(our_rules() / "court.yaml").content
    return content


def _rulebook(entries: Entries) -> Rulebook:
    defaults: Data = entries.defaults.data if entries.defaults else {}
    if entries.court:
        defaults = {**defaults, "court": entries.court.data}
    figures = next((entry.document.content for entry in entries.of("qualities").values()), None)
    if figures:
        defaults = {**defaults, "profile": {name: figures[name] for name in profile.FIGURES}}
    prices = next((entry.document.content for entry in entries.of("balls").values()), None)
    if prices:
        defaults = {**defaults, "prices": {name: figure for name, figure in prices.items() if name != "balls"}}
    levels: Mapping[str, float] | None = defaults.get("levels")
    data = {kind: {name: _spaced(entry.data) for name, entry in all_.items()} for kind, all_ in entries.by_kind.items()}
    kinds = {name: _kind(one) for name, one in data["observations"].items()}
    written = _tactics(entries, data, levels) if levels else {}
    tactics = with_house_rules(written, (entry.data for entry in entries.house))
    named = data["circumstances"] if levels else {}
    circumstances = {name: _circumstance(one, levels or {}) for name, one in named.items()}
    return Rulebook(
        version=defaults.get("version", ""),
        digest=_digest_of(entries.contents),
        defaults=defaults,
        sources={name: Source(**one) for name, one in data["sources"].items()},
        kinds=kinds,
        qualities={name: profile.quality(one, figures["levels"]) for name, one in data["qualities"].items() if figures},
        traits={name: _trait(one) for name, one in data["traits"].items()},
        categories={name: Category(**one) for name, one in data["categories"].items()},
        moments={Moment(name): _moment_rule(one) for name, one in data["moments"].items()},
        circumstances=_still_used(circumstances, written, tactics),
        tactics=tactics,
        balls={name: Ball(**one) for name, one in data["balls"].items()},
        places={name: _place(one) for name, one in data["places"].items()},
        figures={name: one["figure"] for name, one in data["figures"].items()},
        danger=_danger(entries.danger.data) if entries.danger else NO_WORDS,
    )


def _digest_of(contents: Sequence[tuple[str, Any]]) -> str:
    """Return "sha256:…" over the canonical JSON of the files (name within its folder, parsed content), keys sorted."""
    canonical = json.dumps(contents, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return "sha256:" + hashlib.sha256(canonical.encode()).hexdigest()


def _spaced(data: Any) -> Any:
    """Return data whose texts have single spaces; YAML's folded blocks end in a line break that is no part of them."""
    if isinstance(data, str):
        return " ".join(data.split())
    if isinstance(data, list):
        return [_spaced(one) for one in data]
    return {name: _spaced(one) for name, one in data.items()} if isinstance(data, dict) else data


def _kind(data: Data) -> ObservationKind:
    ways = tuple(Way(way) for way in data["ways"])
    phases = tuple(Phase(phase) for phase in data["phases"])
    options, measures = tuple(data.get("options", ())), tuple(map(profile.measure, data.get("measures", ())))
    return ObservationKind(**{**data, "ways": ways, "phases": phases, "options": options, "measures": measures})


def _trait(data: Data) -> Trait:
    rest = {name: value for name, value in data.items() if name != "region"}
    return Trait(**{**rest, "wing": WingRule(data["wing"]), "regions": profile.regions(data)})


def _danger(data: Data) -> DangerWords:
    pain = data["pain"]
    return DangerWords(
        window=data["window"],
        negators=frozenset(data["negators"]),
        harmless=tuple(data["harmless"]),
        signs=tuple(
            DangerSign(one["id"], tuple(one["words"]), one.get("for_the_match", False)) for one in data["signs"]
        ),
        pain_sites=dict(pain["sites"]),
        hurts=pain["hurts"],
        clear=pain["clear"],
        fine=pain["fine"],
        not_pain=(pain["never"],),
    )


def _moment_rule(data: Data) -> MomentRule:
    only = data.get("only_categories", False)
    return MomentRule(Moment(data["moment"]), data["limit"], tuple(data["reminders"]), only)


def _circumstance(data: Data, levels: Mapping[str, float]) -> Circumstance:
    """Build a circumstance; one without `when` is computed from the situation."""
    when = tuple(all_of for one in data.get("when", ()) for all_of in expanded(one["all"], levels))
    return Circumstance(data["id"], data["means"], when)


def _place(data: Data) -> Place:
    return Place(
        tactic=data["tactic"],
        serves=dict(data.get("serves", {})),
        targets=_marks(data.get("targets", ())),
        you=_marks(data.get("you", ())),
        opponent=_marks(data.get("opponent", ())),
        ways=tuple(
            PlacedWay(tuple(map(_point, one["through"])), one["text"], one.get("player", False))
            for one in data.get("ways", ())
        ),
    )


def _marks(marks: Sequence[Data]) -> tuple[PlacedMark, ...]:
    return tuple(PlacedMark(_point(one["at"]), one["text"]) for one in marks)


def _point(point: Sequence[Any]) -> Point:
    side, aside, along = point
    return Point(Side(side), float(aside), float(along))


def _tactics(
    entries: Entries, data: Mapping[str, Mapping[str, Data]], levels: Mapping[str, float]
) -> dict[str, Tactic]:
    built = {}
    for name, entry in entries.of("tactics").items():
        built[name] = _tactic(data["tactics"][name], entry.category, authority_of(entry, entries), entry.house, levels)
    return built


def _tactic(data: Data, group: str, authority: int, house: bool, levels: Mapping[str, float]) -> Tactic:
    sources = data["source"] if isinstance(data["source"], list) else []
    plain = {name: data[name] for name in _PLAIN_OF_TACTIC if name in data}
    return Tactic(
        category=group,
        when=tuple(
            Alternative(all_of, one.get("say"), one.get("named", None if "say" in one else data.get("named")))
            for one in data["when"]
            for all_of in expanded(one["all"], levels)
        ),
        needs=tuple(Gate(tuple(n.get("any_of") or (n["own"],)), n["at_least"]) for n in data.get("needs", ())),
        unless=tuple(
            Counter(all_of, one["why"]) for one in data.get("unless", ()) for all_of in expanded(one["all"], levels)
        ),
        show=Show(data.get("show", Show.GAIN if "price" in data else Show.REMINDER)),
        price=_price(data["price"]) if "price" in data else None,
        authority=authority,
        relations=tuple(_relation(one) for one in data.get("relations", ())),
        sources=tuple(SourceRef(one["key"], one["backs"]) for one in sources),
        moments=tuple(Moment(one) for one in data.get("moments", ())),
        house=house,
        loads=tuple(data.get("loads", ())),
        status=HOUSE_RULE if house else SOURCED if sources else COMMON_PRACTICE,
        **plain,
    )


def _price(data: Data) -> Price:
    sends = tuple(Sent(**{**one, "wing": Aim(one.get("wing", Aim.EITHER))}) for one in data.get("sends", ()))
    return Price(**{**data, "points": Touches(data["points"]), "sends": sends})


def _relation(data: Data) -> Relation:
    found = next(one for one in RelationKind if one.value in data)
    return Relation(found, data[found.value], data.get("settled"), data.get("by"))


def with_house_rules(tactics: Mapping[str, Tactic], house: Iterable[Data]) -> dict[str, Tactic]:
    """Return the tactics with each house.yaml applied in turn; with a muted tactic goes what refers to it."""
    kept = dict(tactics)
    for rules in house:
        for name, numbers in rules.get("reweight", {}).items():
            if name in kept:
                kept[name] = _reweighted(kept[name], numbers)
        for name in rules.get("mute", ()):
            kept.pop(name, None)
    while lost := [one for one in kept.values() if not all(_may_hold(each, kept) for each in _conjunctions(one))]:
        for tactic in lost:
            if when := tuple(one for one in tactic.when if _may_hold(one.conditions, kept)):
                unless = tuple(one for one in tactic.unless if _may_hold(one.conditions, kept))
                kept[tactic.id] = replace(tactic, when=when, unless=unless)
            else:
                del kept[tactic.id]
    return {name: _without_dead_ends(tactic, kept) for name, tactic in kept.items()}


def _reweighted(tactic: Tactic, numbers: Data) -> Tactic:
    if tactic.price is None:
        return replace(tactic, order=numbers.get("order", tactic.order))
    share, costs = (float(numbers.get(name, getattr(tactic.price, name))) for name in ("share", "costs"))
    return replace(tactic, price=replace(tactic.price, share=share, costs=costs))


def _still_used(
    circumstances: Mapping[str, Circumstance], before: Mapping[str, Tactic], after: Mapping[str, Tactic]
) -> dict[str, Circumstance]:
    """Return the circumstances without those that only muted tactics used."""
    idle = _used(circumstances, before) - _used(circumstances, after)
    return {name: one for name, one in circumstances.items() if name not in idle or not one.when}


def _used(circumstances: Mapping[str, Circumstance], tactics: Mapping[str, Tactic]) -> set[str]:
    conjunctions = [each for tactic in tactics.values() for each in _conjunctions(tactic)]
    used: set[str] = set()
    while found := {c.name for each in conjunctions for c in each if c.kind is FactKind.CIRCUMSTANCE} - used:
        used |= found
        conjunctions = [each for name in found if name in circumstances for each in circumstances[name].when]
    return used


def _conjunctions(tactic: Tactic) -> list[tuple[Condition, ...]]:
    return [one.conditions for one in tactic.when] + [one.conditions for one in tactic.unless]


def _may_hold(conditions: Iterable[Condition], kept: Mapping[str, Tactic]) -> bool:
    """Return whether every tactic of which a condition asks how it went is still there."""
    return all(c.kind is not FactKind.TRIES or c.name in kept for c in conditions)


def _without_dead_ends(tactic: Tactic, kept: Mapping[str, Tactic]) -> Tactic:
    relations = tuple(relation for relation in tactic.relations if relation.to in kept)
    return tactic if relations == tactic.relations else replace(tactic, relations=relations)
