"""The ways of playing that would speak if only their traits held: what further looks are judged by."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import Any

from tacticapi.advice.selection import is_owned
from tacticapi.domain.firing import Fact, Firings, Inference
from tacticapi.domain.look import Play, TraitKey
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.tactic import Condition, FactKind, Op, Tactic
from tacticapi.domain.terms import Wing
from tacticapi.domain.trait import Trait
from tacticapi.inference.compile import wing_anchor, without_beliefs


@dataclass(frozen=True, slots=True)
class _Alternative:
    """The places of one alternative's plays, by the wing that the matched facts set (None: they set none).

    `wing_from` is the place of the condition that sets it among those that are not beliefs.
    """

    plays: Mapping[Wing | None, tuple[int, ...]]
    wing_from: int | None

    def given(self, facts: Mapping[str, Fact], matched: tuple[str, ...]) -> tuple[int, ...]:
        if self.wing_from is None:
            return self.plays[None]
        wing = facts[matched[self.wing_from]].fields.get("wing")
        return self.plays[Wing(str(wing)) if wing else None]


PROFILES = 256  # own strokes are the same all match long: what they allow is kept for so many users


class Plays:
    """The plays of one rulebook, by the rule that says that all but the beliefs hold."""

    def __init__(self, rulebook: Rulebook) -> None:
        """Read every alternative that rests on a trait."""
        self.all: list[Play] = []
        self._waiting: dict[str, _Alternative] = {}
        self._always: set[int] = set()
        for tactic in rulebook.tactics.values():
            for number, alternative in enumerate(tactic.when):
                if any(condition.kind is FactKind.BELIEF for condition in alternative.conditions):
                    self._read(tactic, number, rulebook.traits)
        self._by_tactic = _places((play.tactic.id, place) for place, play in enumerate(self.all))
        gates = _places((gate, place) for place, play in enumerate(self.all) for gate in play.tactic.needs)
        self._gates = tuple(gates.items())
        self._strokes = tuple(dict.fromkeys(key for gate in gates for key in gate.keys))
        self._not_owned = lru_cache(maxsize=PROFILES)(self._closed_by)

    def open(self, inference: Inference, firings: Firings, own: Mapping[str, Any]) -> list[int]:
        """Places of the plays whose other conditions hold, whose strokes are owned and that nothing speaks against."""
        found = set(self._always)
        for match in [match for match in inference.matches if match.rule in self._waiting]:
            found.update(self._waiting[match.rule].given(inference.facts, match.facts))
        found -= self._not_owned(tuple(map(own.get, self._strokes)))
        for counter in firings.counters:
            found -= self._by_tactic.get(counter, frozenset())
        return list(found)

    def _closed_by(self, ratings: tuple[Any, ...]) -> frozenset[int]:
        """Places of the plays for which one of the own strokes is not rated, or too low."""
        own = dict(zip(self._strokes, ratings, strict=True))
        return frozenset(place for gate, places in self._gates if not is_owned(gate, own) for place in places)

    def _read(self, tactic: Tactic, number: int, traits: Mapping[str, Trait]) -> None:
        conditions = tactic.when[number].conditions
        tied = {place for place, condition in enumerate(conditions) if condition.same_wing}
        anchor = wing_anchor(conditions) if tied else None
        if anchor is not None:
            tied.add(anchor)
        told = next((place for place in sorted(tied) if conditions[place].kind is not FactKind.BELIEF), None)
        plays: dict[Wing | None, tuple[int, ...]] = {None: ()}
        for shared in tuple(Wing) if tied else (None,):
            keys = _keys(conditions, tied, shared, traits)
            plays[shared] = tuple(range(len(self.all), len(self.all) + len(keys)))
            self.all += [Play(tactic, number, rests_on) for rests_on in keys]
        if told is not None:
            alternative = _Alternative(plays, len(without_beliefs(conditions[:told])))
        else:
            alternative = _Alternative({None: tuple(place for places in plays.values() for place in places)}, None)
        if without_beliefs(conditions):
            self._waiting[f"candidate/{tactic.id}/{number}"] = alternative
        else:
            self._always.update(alternative.given({}, ()))


def _places(named: Iterable[tuple[Any, int]]) -> dict[Any, frozenset[int]]:
    found: dict[Any, set[int]] = {}
    for name, place in named:
        found.setdefault(name, set()).add(place)
    return {name: frozenset(places) for name, places in found.items()}


def _keys(
    conditions: tuple[Condition, ...], tied: set[int], shared: Wing | None, traits: Mapping[str, Trait]
) -> list[tuple[TraitKey, ...]]:
    """Every choice of one belief a belief condition; tied ones are on the shared wing."""
    choices = []
    for place, condition in enumerate(conditions):
        if condition.kind is FactKind.BELIEF:
            wings = traits[condition.name].wings
            wanted = [test.value for test in condition.tests if test.field == "wing" and test.op is Op.IS]
            fitting = [w for w in wings if all(w == value for value in wanted)]
            choices.append([(condition.name, w) for w in fitting if place not in tied or w == shared])
    return list(product(*choices))
