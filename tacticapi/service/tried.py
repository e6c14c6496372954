"""Tries as posted ▶ tries by the ids that the rulebook uses now."""

from collections.abc import Iterable, Mapping
from typing import Any

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import MOST_TRIED, Tries

SUM_EXPECTED = f"at most {MOST_TRIED:,} tries of one tactic in a match, all entries together"


def current_tactic(name: str, rulebook: Rulebook) -> str | None:
    """The tactic of this id, or the one that replaced it; None where the rulebook knows neither."""
    seen: set[str] = set()
    while name in rulebook.tactics and name not in seen:
        seen.add(name)
        replacement = rulebook.tactics[name].deprecated
        if replacement is None or replacement not in rulebook.tactics:
            return name
        name = replacement
    return None


def merged_tries(posted: Iterable[Mapping[str, Any]], rulebook: Rulebook) -> tuple[Tries, ...]:
    """One entry a tactic that the rulebook knows, in the order in which they first came; counts add up."""
    sums: dict[str, tuple[int, int]] = {}
    for entry in posted:
        name = current_tactic(entry["tactic"], rulebook)
        if name is not None:
            tried, won = sums.get(name, (0, 0))
            sums[name] = (tried + int(entry["tried"]), won + int(entry["won"]))
    return tuple(Tries(name, tried, won) for name, (tried, won) in sums.items())
