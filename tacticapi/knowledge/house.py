"""What a deployment's house.yaml does to the tactics: mute some, weigh others otherwise."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from tacticapi.domain.rules import Circumstance, Condition, FactKind, Tactic


def with_house_rules(tactics: Mapping[str, Tactic], house: Iterable[Mapping[str, Any]]) -> dict[str, Tactic]:
    """The tactics with each house.yaml applied in turn.

    With a muted tactic go the relations to it and whatever asks how it went, as nobody can have tried it any more; a
    tactic of which nothing is left goes too.
    """
    kept = dict(tactics)
    for rules in house:
        for name, effect in rules.get("reweight", {}).items():
            if name in kept:
                numbers: dict[str, Any] = {figure: float(number) for figure, number in effect.items()}
                if "gain" in numbers or "loss" in numbers:
                    numbers["fitted"] = {}  # the house's own gain stands in the place of the one from simulation
                kept[name] = replace(kept[name], effect=replace(kept[name].effect, **numbers))
        for name in rules.get("mute", ()):
            kept.pop(name, None)
    while lost := [tactic for tactic in kept.values() if _asks_for_what_went(tactic, kept)]:
        for tactic in lost:
            if when := tuple(one for one in tactic.when if _may_hold(one.conditions, kept)):
                unless = tuple(one for one in tactic.unless if _may_hold(one.conditions, kept))
                kept[tactic.id] = replace(tactic, when=when, unless=unless)
            else:
                del kept[tactic.id]
    return {name: _without_dead_ends(tactic, kept) for name, tactic in kept.items()}


def still_used(
    circumstances: Mapping[str, Circumstance], before: Mapping[str, Tactic], after: Mapping[str, Tactic]
) -> dict[str, Circumstance]:
    """The circumstances without those that only muted tactics used."""
    idle = _used(circumstances, before) - _used(circumstances, after)
    return {name: one for name, one in circumstances.items() if name not in idle or not one.when}


def _used(circumstances: Mapping[str, Circumstance], tactics: Mapping[str, Tactic]) -> set[str]:
    """The circumstances that a tactic names, or one that a tactic names."""
    conjunctions = [each for tactic in tactics.values() for each in _conjunctions(tactic)]
    used: set[str] = set()
    while found := {c.name for each in conjunctions for c in each if c.kind is FactKind.CIRCUMSTANCE} - used:
        used |= found
        conjunctions = [each for name in found if name in circumstances for each in circumstances[name].when]
    return used


def _asks_for_what_went(tactic: Tactic, kept: Mapping[str, Tactic]) -> bool:
    return not all(_may_hold(each, kept) for each in _conjunctions(tactic))


def _conjunctions(tactic: Tactic) -> list[tuple[Condition, ...]]:
    return [one.conditions for one in tactic.when] + [one.conditions for one in tactic.unless]


def _may_hold(conditions: Iterable[Condition], kept: Mapping[str, Tactic]) -> bool:
    """Whether every tactic of which a condition asks how it went is still there."""
    return all(c.kind is not FactKind.TRIES or c.name in kept for c in conditions)


def _without_dead_ends(tactic: Tactic, kept: Mapping[str, Tactic]) -> Tactic:
    relations = tuple(relation for relation in tactic.relations if relation.to in kept)
    return tactic if relations == tactic.relations else replace(tactic, relations=relations)
