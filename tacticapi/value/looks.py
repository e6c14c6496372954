"""What a further look is worth: the plan after it, on average over what it may show, less the plan now.

A plan is worth the best way of playing that rests on a trait (or nothing) on serve, plus that on return, plus that
in rallies on either. A way of playing is priced once with its traits true and once with them false; its worth is
then linear in each belief. A look changes one belief, by pure Bayes with the chances of its outcomes, so on average
the belief stays where it is and the plan can only gain. All looks together are one array.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import prod
from typing import Any

import numpy as np

from tacticapi.domain.look import Outlook, Play, TraitKey
from tacticapi.domain.situation import Situation
from tacticapi.domain.tactic import Touches
from tacticapi.value.baseline import Baseline
from tacticapi.value.match_gain import Array, MatchPricer
from tacticapi.value.price import ability, learned

PARTS = tuple(Touches)
NO_PLAY = -1.0  # no match gain is below it, so that a closed play is never chosen


@dataclass(frozen=True, slots=True)
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
        best = (self.beliefs * self.holds + (1.0 - self.beliefs) * self.fails).max(axis=0)
        return np.asarray(np.maximum(best, self.others).sum(axis=0))


class PlayTable:
    """All ways of playing that rest on a trait, laid out once; `keys` are all beliefs in their order."""

    def __init__(self, plays: Sequence[Play], keys: Sequence[TraitKey]) -> None:
        """Note for each play what it touches and rests on, and for each belief the plays that rest on it."""
        self.plays = tuple(plays)
        places = {key: place for place, key in enumerate(keys)}
        self._rests = [tuple(dict.fromkeys(places[key] for key in play.rests_on)) for play in plays]
        self._first = np.array([rests[0] for rests in self._rests], dtype=np.intp)
        effects = [(p.tactic.effect, p.tactic.when[p.alternative].scale) for p in plays]
        self._share = np.array([effect.share for effect, _ in effects])
        self._gain = np.array([scale * effect.gain for effect, scale in effects])
        self._loss = np.array([scale * effect.loss for effect, scale in effects])
        self._parts = {on: np.array([p.tactic.effect.on is on for p in plays], dtype=np.bool_) for on in PARTS}
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
        opened = np.zeros(len(self.plays), dtype=np.bool_)
        opened[list(open_plays)] = True
        up, down = self._gain * self._abilities(situation.own, defaults["ability"]), -self._loss
        chances = self.chances(beliefs)
        shift = self._learned(chances * up + (1.0 - chances) * down, situation, base, float(defaults["tactic_points"]))
        steps = self._share[:, np.newaxis] * (np.stack((up, down), axis=1) + shift[:, np.newaxis])
        wanted = {on: opened & of_part for on, of_part in self._parts.items()}
        gains = np.full(steps.shape, NO_PLAY)
        for on, found in pricer.gains({on: steps[mask] for on, mask in wanted.items()}).items():
            gains[wanted[on]] = found
        return gains[:, 0], gains[:, 1]

    def chances(self, beliefs: Array) -> Array:
        """The chance that all traits of each play hold."""
        result = beliefs[self._first]
        for play, rests in self._joint():
            result[play] = prod(beliefs[key] for key in rests)
        return np.asarray(result)

    def at_stake(self, holds: Array, fails: Array, beliefs: Array) -> Stakes:
        """What hangs on each belief, from the match gains of every play if its traits hold and if not."""
        if_holds, if_fails = (np.append(gains, NO_PLAY)[self._layout] for gains in (holds, fails))
        for play, rests in self._joint():
            for key in rests:
                rest = prod(beliefs[other] for other in rests if other != key)
                if_holds[..., key][self._layout[..., key] == play] = rest * holds[play] + (1.0 - rest) * fails[play]
        chances = self.chances(beliefs)
        worth = np.maximum(chances * holds + (1.0 - chances) * fails, 0.0)[:, np.newaxis] * self._rests_elsewhere
        others = [worth[of_part].max(axis=0, initial=0.0) for of_part in self._parts.values()]
        return Stakes(beliefs, if_holds, if_fails, np.stack(others))

    def _joint(self) -> list[tuple[int, tuple[int, ...]]]:
        return [(play, rests) for play, rests in enumerate(self._rests) if len(rests) > 1]

    def _laid_out(self, keys: int) -> "np.ndarray[Any, np.dtype[np.intp]]":
        """Places of plays, (plays, parts, beliefs); the place after the last play stands for none."""
        parts = list(self._parts.values())
        resting = [[np.flatnonzero(~self._rests_elsewhere[:, k] & part) for k in range(keys)] for part in parts]
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
        sizes = [len(o.holds) for o in outlooks]
        self._belief = np.array([places[o.key] for o in outlooks], dtype=np.intp)
        self._row = np.repeat(self._belief, sizes)
        self._starts = np.cumsum([0, *sizes[:-1]], dtype=np.intp)
        self._holds = np.array([p for o in outlooks for p in o.holds])
        self._fails = np.array([p for o in outlooks for p in o.fails])

    def worthy(self, stakes: Stakes, least: float) -> list[tuple[float, Outlook]]:
        """The looks worth at least so much, with their worth, in their order."""
        worths = self.worths(stakes)
        return [(float(worths[place]), self.outlooks[place]) for place in np.flatnonzero(worths >= least)]

    def worths(self, stakes: Stakes) -> Array:
        """The worth of each look in match chance; below nought by no more than rounding errors."""
        if not self.outlooks:
            return np.zeros(0)
        p = stakes.beliefs[self._row]
        if_holds, if_fails = p * self._holds, (1.0 - p) * self._fails
        best = if_holds * stakes.holds.take(self._row, axis=2)
        best += if_fails * stakes.fails.take(self._row, axis=2)
        plain = (if_holds + if_fails) * stakes.others.take(self._row, axis=1)
        after = np.maximum(best.max(axis=0), plain).sum(axis=0)
        return np.asarray(np.add.reduceat(after, self._starts) - stakes.now[self._belief])
