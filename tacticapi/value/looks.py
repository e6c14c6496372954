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

    @cached_property
    def now(self) -> Array:
        """The worth of the plan at the present beliefs, the same in every entry but for rounding."""
        return self._plan(self.beliefs * self.holds + (1.0 - self.beliefs) * self.fails)

    @cached_property
    def certainty(self) -> Array:
        """What it would be worth to know each belief for certain: no look at it can be worth more."""
        known = self.beliefs * self._plan(self.holds) + (1.0 - self.beliefs) * self._plan(self.fails)
        return np.asarray(known - self.now)

    def _plan(self, worths: Array) -> Array:
        return np.asarray(np.maximum(worths.max(axis=0), self.others).sum(axis=0))


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
        self._parts = [self._part == part for part in range(len(PARTS))]
        gated = {play.tactic.needs: play.tactic for play in plays}  # tactics with the same gates need the same strokes
        self._gated = tuple(gated.values())
        self._by_gates = np.array([list(gated).index(play.tactic.needs) for play in plays], dtype=np.intp)
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
        steps = self._share * (np.stack((up, down)) + shift)
        curves = pricer.curves()
        gains = np.zeros(steps.shape)
        for coefficient in np.array([curves[on] for on in PARTS]).T[::-1]:
            gains = gains * steps + coefficient[self._part]
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
        others = np.stack([self._best_others(np.where(of_part, worths, 0.0)) for of_part in self._parts])
        return Stakes(beliefs, if_holds, if_fails, others)

    def _best_others(self, worths: Array) -> Array:
        """For each belief the best worth among the plays that do not rest on it."""
        first = int(worths.argmax())
        result = np.full(self._rests_elsewhere.shape[1], worths[first])
        for key in self._rests[first]:
            result[key] = (worths * self._rests_elsewhere[:, key]).max()
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
            for place, play in enumerate(self.plays):
                if play.tactic.id == tries.tactic:
                    usual = base.of(play.tactic.effect.on).mean
                    result[place] = learned(float(expected[place]), usual, tries, worth)
        return result


class LookTable:
    """Outlooks as arrays: what each outcome of each look says of its belief. They keep their order."""

    def __init__(self, outlooks: Sequence[Outlook], keys: Sequence[TraitKey]) -> None:
        """Lay the outcomes of all looks out in one row; `keys` are all beliefs in their order."""
        self.outlooks = tuple(outlooks)
        places = {key: place for place, key in enumerate(keys)}
        sizes = np.array([len(o.holds) for o in outlooks], dtype=np.intp)
        self._sizes = sizes
        self._belief = np.array([places[o.key] for o in outlooks], dtype=np.intp)
        self._row = np.repeat(self._belief, sizes)
        self._holds = np.array([p for o in outlooks for p in o.holds])
        self._fails = np.array([p for o in outlooks for p in o.fails])

    def worthy(self, stakes: Stakes, least: float) -> Iterator[tuple[float, Outlook]]:
        """The looks worth at least so much in match chance, each with its worth, the best first.

        Worths are rounded to WORTH_DIGITS, so that noise in the last digits never ranks; ties keep their order.
        """
        hopeful = stakes.certainty >= least
        places = np.flatnonzero(hopeful[self._belief])
        worths = self._worths(stakes, places, hopeful[self._row]).round(WORTH_DIGITS)
        for i in np.argsort(-worths, kind="stable"):
            if worths[i] < least:
                return
            yield float(worths[i]), self.outlooks[places[i]]

    def worths(self, stakes: Stakes) -> Array:
        """The worth of every look in match chance; below nought by no more than rounding errors."""
        everything = np.arange(len(self.outlooks))
        return self._worths(stakes, everything, np.ones(self._row.size, dtype=np.bool_))

    def _worths(self, stakes: Stakes, places: NDArray[np.intp], outcomes: NDArray[np.bool_]) -> Array:
        if not places.size:
            return np.zeros(0)
        row = self._row[outcomes]
        p = stakes.beliefs[row]
        if_holds, if_fails = p * self._holds[outcomes], (1.0 - p) * self._fails[outcomes]
        best = if_holds * stakes.holds.take(row, axis=2)
        best += if_fails * stakes.fails.take(row, axis=2)
        plain = (if_holds + if_fails) * stakes.others.take(row, axis=1)
        after = np.maximum(best.max(axis=0), plain).sum(axis=0)
        starts = np.cumsum(self._sizes[places]) - self._sizes[places]
        return np.asarray(np.add.reduceat(after, starts) - stakes.now[self._belief[places]])
