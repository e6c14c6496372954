"""What to look for next: the looks that could gain the plan most, then what a beginner would look at first."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from tacticapi.advice.selection import counter_indication, unmet_gate
from tacticapi.domain.advice import Look
from tacticapi.domain.firing import Firings, Inference
from tacticapi.domain.look import Outlook, Play, TraitKey
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.domain.tactic import Condition, FactKind, Tactic
from tacticapi.domain.terms import Moment, Phase, Wing
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.evidence import Beliefs, EvidenceModel
from tacticapi.evidence.outlook import Prospects
from tacticapi.inference.compile import wing_anchor
from tacticapi.value import Baseline, MatchPricer
from tacticapi.value.looks import LookTable, price_plays

STILL_TO_COME = {
    Moment.BEFORE_MATCH: (Phase.BEFORE, Phase.WARM_UP),
    Moment.AFTER_WARM_UP: (Phase.WARM_UP, Phase.GAMES),
    Moment.BETWEEN_POINTS: (Phase.GAMES,),
    Moment.CHANGE_OF_ENDS: (Phase.GAMES,),
    Moment.SET_BREAK: (Phase.GAMES,),
    Moment.AFTER_MATCH: (),
}
WORTH_DIGITS = 4
NO_STARTER = 10_000  # kinds outside the starter set come after it


@dataclass(frozen=True, slots=True)
class _Bound:
    """The plays of one alternative. Where they share a wing with a fact, the place of that fact in its match."""

    plays: tuple[tuple[Wing | None, Play], ...]
    wing_from: int | None

    def fitting(self, wing: str | None) -> list[Play]:
        return [play for shared, play in self.plays if self.wing_from is None or shared == wing]


class LookFinder:
    """Finds the looks of one rulebook. What a first look at each kind could show is worked out once."""

    def __init__(self, rulebook: Rulebook, evidence: EvidenceModel) -> None:
        """Prepare the plays of every alternative that rests on a trait, and the looks by phase."""
        self._rulebook = rulebook
        self._prospects = Prospects(rulebook, evidence)
        self._tables = {phases: LookTable(self._prospects.unseen(phases)) for phases in set(STILL_TO_COME.values())}
        self._places = {kind: place for place, kind in enumerate(rulebook.kinds)}
        self._bound = {
            f"candidate/{tactic.id}/{number}": _bind(tactic, number, rulebook)
            for tactic in rulebook.tactics.values()
            for number, alternative in enumerate(tactic.when)
            if any(condition.kind is FactKind.BELIEF for condition in alternative.conditions)
        }

    def look_for(
        self,
        situation: Situation,
        inference: Inference,
        firings: Firings,
        beliefs: Beliefs,
        base: Baseline,
        pricer: MatchPricer,
    ) -> tuple[Look, ...]:
        """Return the looks that are worth most, filled up from the starter set.

        Where `minutes_left` of the warm-up are posted, only as many as fit into them, in the order of the warm-up.
        """
        rule = self._rulebook.defaults["looks"]
        most, phases = int(rule["shown"]), STILL_TO_COME[situation.moment]
        hurried = Phase.WARM_UP in phases and situation.minutes_left is not None
        if hurried:
            most = min(most, int((situation.minutes_left or 0.0) / float(rule["minutes"])))
        chances = {(b.trait, b.wing): b.probability for b in beliefs.all}
        plays = self._plays(situation, inference, firings)
        priced = price_plays(plays, chances, situation, base, pricer, self._rulebook.defaults)
        tables = (self._tables[phases], LookTable(self._prospects.seen(phases, beliefs.entries)))
        ...
        return ()
