"""In which order the tactics that are left are shown, how many, and what they are worth together."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from tacticapi.domain.firing import Priced
from tacticapi.domain.rulebook import Category
from tacticapi.domain.tactic import Tactic
from tacticapi.domain.terms import Show

SAFETY_AUTHORITY = 1


@dataclass(frozen=True, slots=True)
class Value:
    """What a tactic counts for in the ranking: expected match gain, and expected gain a point."""

    match: float
    point: float

    @property
    def key(self) -> tuple[float, float]:
        """Sorting key, best first; rounded so that noise in the last digits never ranks."""
        return (-round(self.match, 6), -round(self.point, 6))


def in_families(priced: list[Priced], values: Mapping[str, Value], half: float) -> dict[str, Value]:
    """Value the best tactic of each family in full and the others by `half`."""
    result: dict[str, Value] = {}
    seen: set[str] = set()
    for item in sorted(priced, key=lambda p: (*values[p.firing.tactic.id].key, p.firing.tactic.id)):
        name = item.firing.tactic.id
        weight = half if item.family in seen else 1.0
        seen.add(item.family)
        result[name] = Value(values[name].match * weight, values[name].point * weight)
    return result


def ranked(priced: list[Priced], values: Mapping[str, Value]) -> list[Priced]:
    """Order by show: first (by authority), then gain, then reminders; within each by value, then id."""
    places = {Show.FIRST: 0, Show.GAIN: 1, Show.REMINDER: 2}

    def key(item: Priced) -> tuple[int, int, float, float, str]:
        tactic = item.firing.tactic
        authority = tactic.authority if tactic.show is Show.FIRST else 0
        return (places[tactic.show], authority, *values[tactic.id].key, tactic.id)

    return sorted(priced, key=key)


def limited(
    items: list[Priced], limit: int, categories: Mapping[str, Category], tactical_limit: int | None
) -> list[Priced]:
    """Cut to `limit` lines, of which at most `tactical_limit` are tactical (None: no such limit)."""
    shown: list[Priced] = []
    tactical = 0
    for item in items:
        if len(shown) == limit:
            break
        if is_tactical(item.firing.tactic, categories):
            if tactical_limit is not None and tactical >= tactical_limit:
                continue
            tactical += 1
        shown.append(item)
    return shown


def is_safety(tactic: Tactic) -> bool:
    """Whether a tactic speaks with the authority of safety."""
    return tactic.authority == SAFETY_AUTHORITY


def is_tactical(tactic: Tactic, categories: Mapping[str, Category]) -> bool:
    """Whether a tactic is about playing rather than about body, law or safety; what is shown for its gain is."""
    return categories[tactic.category].tactical or tactic.show is Show.GAIN


def capped(shown: list[Priced], weights: Mapping[str, float], ceiling: float) -> list[Priced]:
    """Scale what is shown so that all of it together gains at most `ceiling` a serve point and a return point.

    `weights` are the family weights of the shown tactics. The order is not changed by it.
    """
    weighed = [_times(p, weights[p.firing.tactic.id], weights[p.firing.tactic.id]) for p in shown]
    serve = _scale(sum(max(0.0, p.serve) for p in weighed), ceiling)
    return_ = _scale(sum(max(0.0, p.return_) for p in weighed), ceiling)
    return [_times(p, serve, return_) for p in weighed]


def _times(item: Priced, serve: float, return_: float) -> Priced:
    on_serve, on_return = item.serve * serve, item.return_ * return_
    return replace(item, serve=on_serve, return_=on_return, point=(on_serve + on_return) / 2)


def _scale(total: float, ceiling: float) -> float:
    return min(1.0, ceiling / total) if total > 0 else 1.0
