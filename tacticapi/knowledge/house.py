"""What a deployment's house.yaml does to the tactics: mute some, weigh others otherwise."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from tacticapi.domain.tactic import Tactic


def with_house_rules(tactics: Mapping[str, Tactic], house: Iterable[Mapping[str, Any]]) -> dict[str, Tactic]:
    """The tactics with each house.yaml applied in turn; relations to a muted tactic go with it."""
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
    return {name: _without_dead_ends(tactic, kept) for name, tactic in kept.items()}


def _without_dead_ends(tactic: Tactic, kept: Mapping[str, Tactic]) -> Tactic:
    relations = tuple(relation for relation in tactic.relations if relation.to in kept)
    return tactic if relations == tactic.relations else replace(tactic, relations=relations)
