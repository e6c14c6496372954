"""The expected gain of a tactic in points, updated by tries: for one that fired, and for all ways of playing at once.

By the rulebook's defaults: share x (ability x P x gain - (1 - P) x loss), P the probability that its traits hold.
Where the gain comes from simulation it is a sum over more beliefs and own strokes (`Fitted`): a tactic often pays for
what else is true of an opponent, and for a user who owns the stroke whoever stands there. Both are linear in beliefs.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from math import prod, sqrt
from typing import Any, Final, NamedTuple

import numpy as np

from tacticapi.domain.reasoning import EITHER_WAY, Fact, Firing, Play, Priced
from tacticapi.domain.rules import FactKind, Fitted, Tactic, Touches, TraitKey
from tacticapi.domain.situation import OwnErrors, Situation, Tries
from tacticapi.pricing.baseline import Baseline
from tacticapi.pricing.match_gain import Array, MatchPricer
from tacticapi.pricing.stakes import Gain

MIDDLING: Final = 2  # the rating at which an own stroke adds nothing to a fitted gain
TENTH: Final = 1.2816  # standard deviations from the middle of a normal to its 10th and 90th percentile

Beliefs = Mapping[TraitKey, float]
TOUCHES = tuple(Touches)
CACHED_PLAYERS = 256  # own strokes stay the same all match; results are cached for this many players


class _Outcomes(NamedTuple):
    """Gains a touched point: `up` with the chance `odds`, else `down`."""

    up: float
    down: float
    odds: float

    @property
    def expected(self) -> float:
        return self.odds * self.up + (1.0 - self.odds) * self.down


def price(
    firings: Sequence[Firing],
    situation: Situation,
    base: Baseline,
    defaults: Mapping[str, Any],
    beliefs: Beliefs,
) -> Priced:
    """Return the best priced of one tactic's firings (at least one); ties go to the first alternative.

    `beliefs` are the probabilities of all traits; only gains from simulation ask for them.
    """
    priced = [_price(firing, situation, base, defaults, beliefs) for firing in firings]
    return max(priced, key=lambda p: (round(p.point, 6), -p.firing.alternative, p.family))


def _price(
    firing: Firing, situation: Situation, base: Baseline, defaults: Mapping[str, Any], beliefs: Beliefs
) -> Priced:
    tactic, effect = firing.tactic, firing.tactic.effect
    chance = _chance(firing.beliefs, effect.cause, situation.own_errors, defaults["causes"])
    fitted = _fitted(firing)
    told = _simulated(fitted, situation, beliefs) if fitted else _by_default(firing, chance, situation, defaults)
    tries = next((t for t in situation.tries if t.tactic == tactic.id), None)
    worth = float(defaults["tactic_points"])
    shift = learned(told.expected, base.of(effect.applies_to).mean, tries, worth) if tries else 0.0
    touched = effect.share * (told.expected + shift)
    serve = touched if effect.applies_to is not Touches.RETURN else 0.0
    return_ = touched if effect.applies_to is not Touches.SERVE else 0.0
    return Priced(
        firing=firing,
        chance=chance,
        expected=told.expected,
        point=(serve + return_) / 2,
        serve=serve,
        return_=return_,
        up=told.up + shift,
        down=told.down + shift,
        family=tactic.family or _family(firing.beliefs, tactic),
        simulated=fitted is not None,
    )


def _fitted(firing: Firing) -> Fitted | None:
    """The gain from simulation, where it knows what the firing rests on: its beliefs, or own strokes alone."""
    effect = firing.tactic.effect
    fitted = effect.aimed_at(firing.wing) if effect.fitted else None  # most have none, and this runs often
    if fitted is None:
        return None
    if firing.beliefs:
        known = all(fact.trait_key in fitted.beliefs for fact in firing.beliefs)
    else:
        known = all(fact.kind is FactKind.OWN for fact in firing.facts)
    return fitted if known else None


def _by_default(firing: Firing, chance: float, situation: Situation, defaults: Mapping[str, Any]) -> _Outcomes:
    tactic = firing.tactic
    scale = tactic.when[firing.alternative].scale
    owned = ability(tactic, situation.own, defaults["ability"])
    return _Outcomes(scale * owned * tactic.effect.gain, -scale * tactic.effect.loss, chance)


def _simulated(fitted: Fitted, situation: Situation, beliefs: Beliefs) -> _Outcomes:
    """The ends are the 10th and 90th percentile of what the beliefs and the fit leave open."""
    mean = constant(fitted, situation) + sum([part * beliefs[key] for key, part in fitted.beliefs.items()])
    unsure = sum([part * part * beliefs[key] * (1.0 - beliefs[key]) for key, part in fitted.beliefs.items()])
    spread = TENTH * sqrt(fitted.open * fitted.open + unsure)
    return _Outcomes(mean + spread, mean - spread, EITHER_WAY)


def constant(fitted: Fitted, situation: Situation) -> float:
    """What of a fitted gain a touched point rests on no belief. An unrated stroke counts as middling."""
    ratings = ((situation.own.get(stroke), part) for stroke, part in fitted.strokes.items())
    owned = float(sum([part * (rating - MIDDLING) for rating, part in ratings if rating is not None]))
    return fitted.base + owned + (fitted.same_handed if same_handed(situation) else 0.0)


def same_handed(situation: Situation) -> bool:
    """Whether both play with the same hand; so it is taken to be while either hand is unknown."""
    hands = situation.own.get("handedness"), situation.opponent.get("handedness")
    return hands[0] == hands[1] or None in hands


def _chance(beliefs: Sequence[Fact], cause: str, errors: OwnErrors | None, by_cause: Mapping[str, float]) -> float:
    """The chance that a firing is right: that its traits hold, or what the cause of one without traits says."""
    if beliefs:
        return prod(int(fact.fields["permille"]) for fact in beliefs) / 1000.0 ** len(beliefs)
    if cause == "own-errors":
        # one pseudo-error on each side keeps a short count from counting as certain
        return (errors.unforced + 1) / (errors.of + 2) if errors else 0.5
    return float(by_cause[cause])


def ability(tactic: Tactic, own: Mapping[str, Any], by_rating: Sequence[float]) -> float:
    """How much of the gain the user's own strokes bring home: by the weakest gate; 1 for a tactic without gates.

    A gate of several strokes counts by the best of them. An unrated stroke counts as a rating of 0.
    """
    weakest = None
    for gate in tactic.needs:
        best = max([own.get(key) or 0 for key in gate.keys])
        weakest = best if weakest is None else min(weakest, best)
    return 1.0 if weakest is None else by_rating[min(4, max(0, round(weakest)))]


def learned(expected: float, mean: float, tries: Tries, worth: float) -> float:
    """What tries add to the gain a touched point; before them the tactic's own mean counts as `worth` tries."""
    if not tries.tried:
        return 0.0
    own_mean = min(1.0, max(0.0, mean + expected))
    return (worth * own_mean + tries.won) / (worth + tries.tried) - own_mean


def _family(beliefs: Sequence[Fact], tactic: Tactic) -> str:
    return f"{beliefs[0].name}:{beliefs[0].fields.get('wing', '')}" if beliefs else tactic.id


class Simulated:
    """The gains from simulation of the plays that have one: the sums of `price` in arrays."""

    def __init__(self, plays: Sequence[Play], keys: Sequence[TraitKey]) -> None:
        """Note the sum of each play; `keys` are all beliefs in their order."""
        effects = [(p.tactic.effect, next((wing for _, wing in p.rests_on if wing), None)) for p in plays]
        fitted = [effect.aimed_at(wing) or Fitted(0.0, 0.0) for effect, wing in effects]
        known = [all(key in f.beliefs for key in play.rests_on) for f, play in zip(fitted, plays, strict=True)]
        self.has = np.array(known, dtype=np.bool_)
        self._strokes = sorted({stroke for f in fitted for stroke in f.strokes})
        parts = np.array([self._row(f, keys) for f in fitted])
        self._plays, self._of = np.nonzero(parts)
        self._parts = parts[self._plays, self._of]
        rests = [sum(f.beliefs.get(key, 0.0) for key in play.rests_on) for f, play in zip(fitted, plays, strict=True)]
        self._slope = np.array(rests)

    def _row(self, fitted: Fitted, keys: Sequence[TraitKey]) -> list[float]:
        strokes = [fitted.strokes.get(stroke, 0.0) for stroke in self._strokes]
        return [fitted.base, fitted.same_handed, *strokes, *(fitted.beliefs.get(key, 0.0) for key in keys)]

    def steps(self, situation: Situation, beliefs: Sequence[float], chances: Array) -> Array:
        """Gains a touched point of every play if its traits hold and if not, (2, plays); of no use where it has none.

        `chances` are those that the traits of each play hold.
        """
        ratings = [situation.own.get(stroke) for stroke in self._strokes]
        above = [0.0 if rating is None else rating - MIDDLING for rating in ratings]
        known = np.array([1.0, same_handed(situation), *above, *beliefs])
        mean = np.bincount(self._plays, self._parts * known.take(self._of), len(self._slope))
        if_not = mean - self._slope * chances
        return np.array((if_not + self._slope, if_not))


class PlayPrices:
    """Prices the plays of one rulebook; `keys` are all beliefs in their order."""

    def __init__(self, plays: Sequence[Play], keys: Sequence[TraitKey]) -> None:
        """Note for each play its effect, what it rests on and which strokes it needs."""
        places = {key: place for place, key in enumerate(keys)}
        self._plays = tuple(plays)
        self._rests = [tuple(dict.fromkeys(places[key] for key in play.rests_on)) for play in plays]
        effects = [(play.tactic.effect, play.tactic.when[play.alternative].scale) for play in plays]
        self._steps = np.array([(scale * e.gain, -scale * e.loss) for e, scale in effects]).reshape(-1, 2).T
        self._share = np.array([effect.share for effect, _ in effects])
        self._touches = np.array([TOUCHES.index(effect.applies_to) for effect, _ in effects], dtype=np.intp)
        self._first = np.array([rests[0] for rests in self._rests], dtype=np.intp)
        self._joint = [(place, rests) for place, rests in enumerate(self._rests) if len(rests) > 1]
        self._simulated = Simulated(plays, keys)
        self._by_tactic: dict[str, list[int]] = {}
        for place, play in enumerate(plays):
            self._by_tactic.setdefault(play.tactic.id, []).append(place)
        gated = {play.tactic.needs: play.tactic for play in plays}  # tactics with the same gates need the same strokes
        self._gated = tuple(gated.values())
        self._by_gates = np.array([list(gated).index(play.tactic.needs) for play in plays], dtype=np.intp)
        self._strokes = tuple(dict.fromkeys(key for needs in gated for gate in needs for key in gate.keys))
        self._abilities = lru_cache(maxsize=CACHED_PLAYERS)(self._worked_out)

    def gains(
        self,
        open_plays: Sequence[int],
        situation: Situation,
        beliefs: Sequence[float],
        *,
        base: Baseline,
        pricer: MatchPricer,
        defaults: Mapping[str, Any],
    ) -> list[Gain]:
        """What the open plays gain; they are named by their places.

        `beliefs` are probabilities, one a key. What tries taught is taken as it
        stands at the present beliefs.
        """
        chances = self._chances(beliefs)
        steps = self._steps.copy()  # gains a touched point, if the traits hold and if not
        steps[0] *= self._abilities(tuple(map(situation.own.get, self._strokes)), tuple(defaults["ability"]))
        np.copyto(steps, self._simulated.steps(situation, beliefs, chances), where=self._simulated.has)
        if situation.tries:
            expected = chances * steps[0] + (1.0 - chances) * steps[1]
            steps += self._learned(expected.tolist(), situation, base, float(defaults["tactic_points"]))
        steps *= self._share
        curves = pricer.curves()
        gains = _polynomial(np.array([curves[on] for on in TOUCHES]).T.take(self._touches, axis=1), steps)
        holds, fails = gains.tolist()
        return [(place, holds[place], fails[place]) for place in open_plays]

    def _worked_out(self, ratings: tuple[Any, ...], by_rating: tuple[float, ...]) -> Array:
        """How much of the gain of each play the own strokes bring home."""
        own = dict(zip(self._strokes, ratings, strict=True))
        return np.asarray([ability(tactic, own, by_rating) for tactic in self._gated], dtype=np.float64).take(
            self._by_gates
        )

    def _chances(self, beliefs: Sequence[float]) -> Array:
        """The chance that all traits of each play hold."""
        result = np.array(beliefs).take(self._first)
        for place, rests in self._joint:
            result[place] = prod([beliefs[key] for key in rests])
        return result

    def _learned(self, expected: Sequence[float], situation: Situation, base: Baseline, worth: float) -> Array:
        shifts = np.zeros(len(self._plays))
        for tries in situation.tries:
            for place in self._by_tactic.get(tries.tactic, ()):
                usual = base.of(self._plays[place].tactic.effect.applies_to).mean
                shifts[place] = learned(expected[place], usual, tries, worth)
        return shifts


def _polynomial(by_power: Array, at: Array) -> Array:
    """Polynomials by their coefficients from power 0 on, (powers, n), each at its own points, (m, n)."""
    result = at * by_power[-1]
    for coefficients in by_power[-2:0:-1]:
        result += coefficients
        result *= at
    result += by_power[0]
    return np.asarray(result)
