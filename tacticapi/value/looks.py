"""What a further look is worth: the plan after it, on average over what it may show, less the plan now.

A plan is worth the best way of playing that rests on a trait (or nothing) on serve, plus that on return, plus that
in rallies on either. A way of playing is priced once with its traits true and once with them false; its worth is
then linear in each belief. A look changes one belief, by pure Bayes with the chances of its outcomes, so on average
the belief stays where it is and the plan can only gain. All looks together are one array.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import prod
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tacticapi.domain.look import Outlook, Play, TraitKey
from tacticapi.domain.situation import Situation
from tacticapi.domain.tactic import Touches
from tacticapi.value.baseline import Baseline
from tacticapi.value.match_gain import Array, MatchPricer
from tacticapi.value.price import ability, learned

PARTS = tuple(Touches)
WORTH_DIGITS = 6
NO_PLAY = -1.0  # no match gain is below it, so that a closed play is never chosen


@dataclass(frozen=True)
class Stakes:
    """What hangs on each belief: its plays by part of the game if it holds and if not, and the best other play.

    `beliefs` and `now`, the worth of the plan at present, have one entry a belief; `holds` and `fails` the shape
    (plays, parts, beliefs), `others` (parts, beliefs). Worths are in match chance.
    """

    beliefs: Array
    holds: Array
    fails: Array
    others: Array

    @property
    def now(self) -> Array:
        """The worth of the plan at the present beliefs, the same in every entry but for rounding."""
        return np.asarray(self.now_by_part.sum(axis=0))

    @property
    def certainty(self) -> Array:
        """What it would be worth to know each belief for certain: no look at it can be worth more."""
        return np.asarray(self.certainty_by_part.sum(axis=0))

    @cached_property
    def now_by_part(self) -> Array:
        """The worth of each part of the plan at the present beliefs, (parts, beliefs)."""
        return self._plan(self.beliefs * self.holds + (1.0 - self.beliefs) * self.fails)

    @cached_property
    def certainty_by_part(self) -> Array:
        """What certainty of each belief is worth in each part of the plan, (parts, beliefs)."""
        known = self.beliefs * self._plan(self.holds) + (1.0 - self.beliefs) * self._plan(self.fails)
        return np.asarray(known - self.now_by_part)

    def _plan(self, worths: Array) -> Array:
        return np.asarray(np.maximum(worths.max(axis=0), self.others))


class PlayTable:
    """All ways of playing that rest on a trait, laid out once; `keys` are all beliefs in their order."""

    def __init__(self, plays: Sequence[Play], keys: Sequence[TraitKey]) -> None:
        """Note for each play what it touches and rests on, and for each belief the plays that rest on it."""
        self.plays = tuple(plays)
        places = {key: place for place, key in enumerate(keys)}
        self._rests = [tuple(dict.fromkeys(places[key] for key in play.rests_on)) for play in plays]
        self._joint = [(place, rests) for place, rests in enumerate(self._rests) if len(rests) > 1]
        self._first = np.array([rests[0] for rests in self._rests], dtype=np.intp)
        effects = [(p.tactic.effect, p.tactic.when[p.alternative].scale) for p in plays]
        self._share = np.array([effect.share for effect, _ in effects])
        self._gain = np.array([scale * effect.gain for effect, scale in effects])
        self._loss = np.array([scale * effect.loss for effect, scale in effects])
        self._part = np.array([PARTS.index(effect.on) for effect, _ in effects], dtype=np.intp)
        self._parts = np.array([self._part == part for part in range(len(PARTS))])
        gated = {play.tactic.needs: play.tactic for play in plays}  # tactics with the same gates need the same strokes
        self._gated = tuple(gated.values())
        self._by_gates = np.array([list(gated).index(play.tactic.needs) for play in plays], dtype=np.intp)
        self._by_tactic: dict[str, list[int]] = {}
        for place, play in enumerate(plays):
            self._by_tactic.setdefault(play.tactic.id, []).append(place)
        self._rests_elsewhere = np.array([[k not in rests for k in range(len(keys))] for rests in self._rests])
        self._layout = self._laid_out(len(keys))

    def stakes(
        self,
        open_plays: Iterable[int],
        situation: Situation,
        beliefs: Sequence[float],
        *,
        base: Baseline,
        pricer: MatchPricer,
        defaults: Mapping[str, Any],
    ) -> Stakes:
        """What hangs on each belief (probabilities, one a key) in the plays that are open, by their places."""
        at = np.array(beliefs)
        return self.at_stake(*self._prices(open_plays, situation, at, base=base, pricer=pricer, defaults=defaults), at)

    def _prices(
        self,
        open_plays: Iterable[int],
        situation: Situation,
        beliefs: Array,
        *,
        base: Baseline,
        pricer: MatchPricer,
        defaults: Mapping[str, Any],
    ) -> tuple[Array, Array]:
        """Match gain of every play if all its traits hold, and if not; NO_PLAY for those that are not open.

        What tries taught is taken as it stands at the present beliefs.
        """
        up, down = self._gain * self._abilities(situation.own, defaults["ability"]), -self._loss
        chances = self.chances(beliefs)
        shift = self._learned(chances * up + (1.0 - chances) * down, situation, base, float(defaults["tactic_points"]))
        steps = self._share * (np.array((up, down)) + shift)
        curves = pricer.curves()
        by_power = np.array([curves[on] for on in PARTS]).T.take(self._part, axis=1)
        gains = np.zeros(steps.shape)
        for coefficient in by_power[::-1]:
            gains *= steps
            gains += coefficient
        closed = np.ones(len(self.plays), dtype=np.bool_)
        closed[list(open_plays)] = False
        gains[:, closed] = NO_PLAY
        return gains[0], gains[1]

    def chances(self, beliefs: Array) -> Array:
        """The chance that all traits of each play hold."""
        result = beliefs[self._first]
        for play, rests in self._joint:
            result[play] = prod(beliefs[key] for key in rests)
        return np.asarray(result)

    def at_stake(self, holds: Array, fails: Array, beliefs: Array) -> Stakes:
        """What hangs on each belief, from the match gains of every play if its traits hold and if not."""
        gains = np.full((2, len(self.plays) + 1), NO_PLAY)
        gains[:, :-1] = holds, fails
        if_holds, if_fails = gains.take(self._layout, axis=1)
        for play, rests in self._joint:
            for key in rests:
                rest = prod(beliefs[other] for other in rests if other != key)
                if_holds[..., key][self._layout[..., key] == play] = rest * holds[play] + (1.0 - rest) * fails[play]
        chances = self.chances(beliefs)
        worths = np.maximum(chances * holds + (1.0 - chances) * fails, 0.0)
        return Stakes(beliefs, if_holds, if_fails, self._best_others(worths * self._parts))

    def _best_others(self, worths: Array) -> Array:
        """For each part and belief the best of the plays that do not rest on it; `worths` are (parts, plays)."""
        best = worths.argmax(axis=1).tolist()
        result = np.repeat(worths.max(axis=1, keepdims=True), self._rests_elsewhere.shape[1], axis=1)
        for part, first in enumerate(best):
            for key in self._rests[first]:
                result[part, key] = (worths[part] * self._rests_elsewhere[:, key]).max()
        return result

    def _laid_out(self, keys: int) -> NDArray[np.intp]:
        """Places of plays, (plays, parts, beliefs); the place after the last play stands for none."""
        resting = [[np.flatnonzero(~self._rests_elsewhere[:, k] & part) for k in range(keys)] for part in self._parts]
        most = max((found.size for part in resting for found in part), default=0)
        layout = np.full((max(most, 1), len(PARTS), keys), len(self.plays), dtype=np.intp)
        for place, part in enumerate(resting):
            for k, found in enumerate(part):
                layout[: found.size, place, k] = found
        return layout

    def _abilities(self, own: Mapping[str, Any], by_rating: Sequence[float]) -> Array:
        return np.array([ability(tactic, own, by_rating) for tactic in self._gated])[self._by_gates]

    def _learned(self, expected: Array, situation: Situation, base: Baseline, worth: float) -> Array:
        result = np.zeros(len(self.plays))
        for tries in situation.tries:
            for place in self._by_tactic.get(tries.tactic, ()):
                usual = base.of(self.plays[place].tactic.effect.on).mean
                result[place] = learned(float(expected[place]), usual, tries, worth)
        return result


class LookTable:
    """Outlooks as arrays: what each outcome of each look says of its belief. They keep their order."""

    def __init__(self, outlooks: Sequence[Outlook], keys: Sequence[TraitKey]) -> None:
        """Lay the outcomes of all looks out in one row; `keys` are all beliefs in their order."""
        self.outlooks = tuple(outlooks)
        places = {key: place for place, key in enumerate(keys)}
        sizes = [len(o.holds) for o in outlooks]
        self._look = np.repeat(np.arange(len(outlooks)), sizes)
        self._belief = np.repeat(np.array([places[o.key] for o in outlooks], dtype=np.intp), sizes)
        self._holds = np.array([p for o in outlooks for p in o.holds])
        self._fails = np.array([p for o in outlooks for p in o.fails])
        self._stake = np.add.outer(np.arange(len(PARTS)) * len(keys), self._belief).ravel()  # in (parts, beliefs)

    def worthy(self, stakes: Stakes, least: float) -> Iterator[tuple[float, Outlook]]:
        """The looks worth at least so much in match chance, each with its worth, the best first.

        Worths are rounded to WORTH_DIGITS, so that noise in the last digits never ranks; ties keep their order.
        """
        worths = self.worths(stakes, least).round(WORTH_DIGITS)
        worthy = np.flatnonzero(worths >= least)
        for i in worthy[np.argsort(-worths[worthy], kind="stable")].tolist():
            yield float(worths[i]), self.outlooks[i]

    def worths(self, stakes: Stakes, least: float = 0.0) -> Array:
        """The worth of every look in match chance; below nought by no more than rounding errors.

        Only the parts of the plan that the look's belief could change are worked out, and where even certainty would
        not be worth `least`, none.
        """
        hopeful = (stakes.certainty_by_part > 0.0) & (stakes.certainty >= least)
        places = np.flatnonzero(hopeful.take(self._stake))  # an outcome, once for each part that it could change
        stake, outcome = self._stake[places], places % len(self._look)
        p = stakes.beliefs[self._belief[outcome]]
        if_holds, if_fails = p * self._holds[outcome], (1.0 - p) * self._fails[outcome]
        best = (if_holds * _columns(stakes.holds, stake) + if_fails * _columns(stakes.fails, stake)).max(axis=0)
        chance = if_holds + if_fails
        after = np.maximum(best, chance * stakes.others.take(stake))
        gained = after - chance * stakes.now_by_part.take(stake)
        return np.asarray(np.bincount(self._look[outcome], gained, len(self.outlooks)), dtype=np.float64)


def _columns(worths: Array, stake: NDArray[np.intp]) -> Array:
    """Of (plays, parts, beliefs) the columns at these places of (parts, beliefs) laid out in one row."""
    return worths.reshape(len(worths), -1).take(stake, axis=1)
