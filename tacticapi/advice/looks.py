"""Find the next things to look for: the looks that could gain the plan most, then what a beginner would look at first.

Looks are judged by the ways of playing that would speak if only their traits held.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from heapq import heapify, heappop, heappush
from itertools import islice, product
from typing import Any

from tacticapi.advice.selection import is_owned
from tacticapi.domain.advice import Look
from tacticapi.domain.reasoning import Fact, Firings, Inference, Play
from tacticapi.domain.rules import Condition, FactKind, ObservationKind, Op, Rulebook, Tactic, Trait, TraitKey
from tacticapi.domain.situation import Moment, Phase, Situation, Wing
from tacticapi.evidence.beliefs import Beliefs, EvidenceModel
from tacticapi.evidence.next_observation import NextObservations, Outcomes
from tacticapi.pricing.baseline import Baseline
from tacticapi.pricing.match_gain import MatchPricer
from tacticapi.pricing.price import PlayPrices
from tacticapi.pricing.stakes import PlayTable, Stakes
from tacticapi.rulebook.match_rules import wing_anchor, without_beliefs

PROFILES = 256  # own strokes stay the same all match; results are cached for this many players
STILL_TO_COME = {
    Moment.BEFORE_MATCH: (Phase.BEFORE, Phase.WARM_UP),
    Moment.AFTER_WARM_UP: (Phase.WARM_UP, Phase.GAMES),
    Moment.BETWEEN_POINTS: (Phase.GAMES,),
    Moment.CHANGE_OF_ENDS: (Phase.GAMES,),
    Moment.SET_BREAK: (Phase.GAMES,),
    Moment.AFTER_MATCH: (),
}
WORTH_DIGITS = 4
MIN_WORTH = 0.5 * 10**-WORTH_DIGITS  # less is told as nothing
ROUNDING = 1e-6
NO_STARTER = 10_000  # kinds outside the starter set come after it
Phases = tuple[Phase, ...]


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


class LookFinder:
    """Finds the looks of one rulebook. What a first look at each kind can show is worked out once."""

    def __init__(self, rulebook: Rulebook, evidence: EvidenceModel) -> None:
        """Lay out the ways of playing that rest on a trait, and the looks of every phase at those traits."""
        self._rulebook = rulebook
        self._plays = Plays(rulebook)
        keys = [(trait.id, wing) for trait in rulebook.traits.values() for wing in trait.wings]  # as beliefs come
        self._places = {key: place for place, key in enumerate(keys)}
        self._keys = keys
        self._prices = PlayPrices(self._plays.all, keys)
        self._play_table = PlayTable(self._plays.all, keys)
        self._observations = NextObservations(rulebook, evidence)
        self._order = {kind.id: (kind.starter or NO_STARTER, n) for n, kind in enumerate(rulebook.kinds.values())}
        every = {phases_left(moment, fitting) for moment in Moment for fitting in (None, 0, 1)}
        starters = sorted(
            (k for k in rulebook.kinds.values() if k.starter is not None), key=lambda k: self._order[k.id]
        )
        self._starter_set = {phases: [k for k in starters if not set(k.phases).isdisjoint(phases)] for phases in every}

    def stakes(
        self,
        situation: Situation,
        beliefs: Beliefs,
        *,
        inference: Inference,
        firings: Firings,
        base: Baseline,
        pricer: MatchPricer,
    ) -> Stakes:
        """What hangs on each belief in the ways of playing that wait for nothing but their traits."""
        open_plays = self._plays.open(inference, firings, situation.own)
        chances = [belief.probability for belief in beliefs.all]
        gains = self._prices.gains(
            open_plays, situation, chances, base=base, pricer=pricer, defaults=self._rulebook.defaults
        )
        return self._play_table.at_stake(gains, chances)

    def look_for(
        self, situation: Situation, beliefs: Beliefs, stakes: Stakes, mute: Collection[str]
    ) -> tuple[Look, ...]:
        """Return the looks that are worth most, best first, filled up from the starter set in its order.

        Where something posted told nothing (`mute`: the subjects of such kinds), the last place goes to the first of
        the starter set at the same subject. Where `minutes_left` of the warm-up are posted, only as many looks as fit
        into them, in the order of the warm-up; if none fits any more, the looks are those of the first games.
        """
        rule = self._rulebook.defaults["looks"]
        fitting = looks_that_fit(situation, float(rule["minutes"]))
        phases = phases_left(situation.moment, fitting)
        most = min(int(rule["shown"]), fitting) if fitting else int(rule["shown"])
        looks = list(islice(self._best(situation, phases, beliefs, stakes), most))
        if mute:
            starters = (kind for kind in self._starters(situation, phases, looks) if kind.subject in mute)
            if instead := next(starters, None):
                looks = [*looks[: most - 1], _starter_look(instead)]
        if len(looks) < most:
            looks += map(_starter_look, islice(self._starters(situation, phases, looks), most - len(looks)))
        return tuple(sorted(looks, key=lambda look: self._order[look.what]) if fitting else looks)

    def _best(self, situation: Situation, phases: Phases, beliefs: Beliefs, stakes: Stakes) -> Iterator[Look]:
        """The looks that are worth anything, the best first: one a kind, and one a trait, as they stand in for it.

        A look gains no more than a share of what certainty of the belief would, so most are not worked out.
        """
        known = [f"opponent.{key}" for key, value in situation.opponent.items() if value is not None]
        wanted = {self._keys[place] for place, worth in stakes.certainty.items() if worth >= MIN_WORTH}
        found = self._observations.outcomes(beliefs, phases, wanted, known)
        waiting = []
        for place, seen in enumerate(found):
            most = stakes.certainty[self._places[seen.key]] * seen.tells
            if most >= MIN_WORTH:
                waiting.append((-most - ROUNDING, self._order[seen.look.kind.id], False, place))
        heapify(waiting)
        told: set[Any] = set()
        while waiting:
            bound, order, worked_out, place = heappop(waiting)
            seen = found[place]
            if seen.look.kind.id in told or seen.key in told:
                continue
            if worked_out:
                told |= {seen.look.kind.id, seen.key}
                yield _look(seen, round(-bound, WORTH_DIGITS))
            else:
                worth = round(stakes.worth(self._places[seen.key], seen.p_if_true, seen.p_if_false), 6)
                if worth >= MIN_WORTH:
                    heappush(waiting, (-worth, order, True, place))

    def _starters(self, situation: Situation, phases: Phases, looks: Iterable[Look]) -> Iterator[ObservationKind]:
        """The kinds of the starter set that can still be seen and have not been, nor are among the looks, in order."""
        gone = {seen.what for seen in situation.observations} | {look.what for look in looks}
        kinds = self._starter_set[phases]
        return (kind for kind in kinds if kind.id not in gone and not is_known(situation, kind))


def looks_that_fit(situation: Situation, minutes: float) -> int | None:
    """How many looks of so many minutes the rest of the warm-up has room for, None where that is not limited."""
    if situation.minutes_left is None or Phase.WARM_UP not in STILL_TO_COME[situation.moment]:
        return None
    return int(situation.minutes_left / minutes)


def phases_left(moment: Moment, fitting: int | None) -> Phases:
    """The phases of which looks are told: all still to come, or those before the games while looks fit in them."""
    phases = STILL_TO_COME[moment]
    if fitting is None:
        return phases
    left_out = Phase.GAMES if fitting else Phase.WARM_UP
    return tuple(phase for phase in phases if phase is not left_out)


def is_known(situation: Situation, kind: ObservationKind) -> bool:
    """Whether the kind is no matter of looking at the opponent, or has been posted in the profile."""
    match kind.subject:
        case "opponent":
            return kind.health or situation.opponent.get(kind.key) is not None
        case "own" | "context" | "plan" | "record":
            return True
        case _:
            return kind.health


def _look(found: Outcomes, worth: float) -> Look:
    kind, wing = found.look.kind, found.look.wing
    how = kind.probe or kind.asks
    return Look(kind.id, kind.asks, f"{how} ({wing})" if wing else how, worth, found.key[0], wing)


def _starter_look(kind: ObservationKind) -> Look:
    return Look(kind.id, kind.asks, kind.probe or kind.asks, 0.0)
