"""What the ways of playing are worth that rest on a trait, all at once: if their traits hold, and if not."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from math import prod
from typing import Any

import numpy as np

from tacticapi.domain.look import Play, TraitKey
from tacticapi.domain.situation import Situation
from tacticapi.domain.tactic import Touches
from tacticapi.value.baseline import Baseline
from tacticapi.value.match_gain import Array, MatchPricer
from tacticapi.value.price import ability, learned
from tacticapi.value.simulated import Simulated
from tacticapi.value.stakes import Gain

TOUCHES = tuple(Touches)
PROFILES = 256  # own strokes are the same all match long: what they allow is kept for so many users


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
        self._touches = np.array([TOUCHES.index(effect.on) for effect, _ in effects], dtype=np.intp)
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
        self._abilities = lru_cache(maxsize=PROFILES)(self._worked_out)

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
                usual = base.of(self._plays[place].tactic.effect.on).mean
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
