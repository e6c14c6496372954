"""The ways of playing that would speak if only their traits held: what further looks are judged by."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

from tacticapi.advice.selection import unmet
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

    tactic: Tactic
    plays: Mapping[Wing | None, tuple[int, ...]]
    wing_from: int | None

    def given(self, facts: Mapping[str, Fact], matched: tuple[str, ...]) -> tuple[int, ...]:
        if self.wing_from is None:
            return self.plays[None]
        wing = facts[matched[self.wing_from]].fields.get("wing")
        return self.plays[Wing(str(wing)) if wing else None]


class Plays:
    """The plays of one rulebook, by the rule that says that all but the beliefs hold."""

    def __init__(self, rulebook: Rulebook) -> None:
        """Read every alternative that rests on a trait."""
        self.all: list[Play] = []
        self._alternatives: dict[str, _Alternative] = {}
        for tactic in rulebook.tactics.values():
            for number, alternative in enumerate(tactic.when):
                if any(condition.kind is FactKind.BELIEF for condition in alternative.conditions):
                    self._alternatives[f"candidate/{tactic.id}/{number}"] = self._read(tactic, number, rulebook.traits)

    def open(self, inference: Inference, firings: Firings, own: Mapping[str, object]) -> list[int]:
        """Places of the plays whose other conditions hold, whose strokes are owned and that nothing speaks against."""
        found: list[int] = []
        barred: dict[str, bool] = {}
        for match in inference.matches:
            alternative = self._alternatives.get(match.rule)
            if alternative is not None:
                tactic = alternative.tactic
                if tactic.id not in barred:
                    barred[tactic.id] = tactic.id in firings.counters or unmet(tactic, own) is not None
                if not barred[tactic.id]:
                    found += alternative.given(inference.facts, match.facts)
        return found

    def _read(self, tactic: Tactic, number: int, traits: Mapping[str, Trait]) -> _Alternative:
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
        if told is None:
            return _Alternative(tactic, {None: tuple(place for places in plays.values() for place in places)}, None)
        return _Alternative(tactic, plays, len(without_beliefs(conditions[:told])))


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
