"""The old table of prices, kept as the line to beat: what it says that a tactic gains a point, from beliefs alone.

A price is share x (ability x chance x gain - (1 - chance) x loss), the chance being that of the trait that the tactic
rests on; or share x a fitted sum over beliefs and own strokes. The numbers are in `old_prices.yaml`.
"""

from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any, Final

import yaml

from tests.rehearsal.world.shots import SIDES
from tests.rehearsal.world.tactics import CHANGES, Chosen

MIDDLING: Final = 2  # an own rating that no price counts

Beliefs = Mapping[tuple[str, str | None], float]


@cache
def table() -> Mapping[str, Any]:
    """Return the old table as it was written."""
    found: dict[str, Any] = yaml.safe_load(Path(__file__).with_suffix(".yaml").read_text(encoding="utf-8"))
    return found


def old_price(option: Chosen, beliefs: Beliefs, ratings: Mapping[str, int], *, same_handed: bool) -> float:
    """Return what an option gained a point over all points by the old table."""
    effect = table()["tactics"][option.tactic]
    fitted = _fitted(option)
    gain = _sum(fitted, beliefs, ratings, same_handed) if fitted else _by_chance(effect, option, beliefs, ratings)
    return float(effect["share"]) * gain * (1.0 if effect["applies_to"] == "both" else 0.5)


def _fitted(option: Chosen) -> Mapping[str, Any] | None:
    names = (f"{option.tactic}/{SIDES[option.aim]}", option.tactic)
    return next((table()["fitted"][name] for name in names if name in table()["fitted"]), None)


def _sum(fitted: Mapping[str, Any], beliefs: Beliefs, ratings: Mapping[str, int], same_handed: bool) -> float:
    owned = [part * (ratings[stroke] - MIDDLING) for stroke, part in fitted.get("strokes", {}).items()]
    seen = [part * beliefs[belief(name)] for name, part in fitted["beliefs"].items()]
    return float(fitted["base"] + fitted.get("same_handed", 0.0) * same_handed + sum(owned) + sum(seen))


def _by_chance(effect: Mapping[str, Any], option: Chosen, beliefs: Beliefs, ratings: Mapping[str, int]) -> float:
    up, down = _ability(effect, ratings) * float(effect["gain"]), float(effect["loss"])
    return max(part * (chance * up - (1.0 - chance) * down) for part, chance in _chances(effect, option, beliefs))


def _chances(effect: Mapping[str, Any], option: Chosen, beliefs: Beliefs) -> Iterator[tuple[float, float]]:
    """Yield the chance of each trait that a tactic rests on, at the wing of the option if it may aim at either."""
    if "rests_on" not in effect:
        yield 1.0, table()["causes"][effect["cause"]]
    either = len(CHANGES[option.tactic].aims) == 1
    for trait, part in effect.get("rests_on", {}).items():
        for (name, wing), chance in beliefs.items():
            if name == trait and (either or wing in (None, SIDES[option.aim])):
                yield part, chance


def _ability(effect: Mapping[str, Any], ratings: Mapping[str, int]) -> float:
    """Return what part of a gain the own strokes bring home: the best stroke of each need, the weakest need."""
    owned = [max(ratings[stroke] for stroke in need) for need in effect.get("needs", ())]
    return float(table()["ability"][min(owned)]) if owned else 1.0


def belief(name: str) -> tuple[str, str | None]:
    """Return trait and wing of a belief as the table names it."""
    trait, _, wing = name.partition("/")
    return trait, wing or None
