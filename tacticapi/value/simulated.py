"""Gains from simulation for many ways of playing at once."""

from collections.abc import Sequence

import numpy as np

from tacticapi.domain.look import Play, TraitKey
from tacticapi.domain.situation import Situation
from tacticapi.domain.tactic import Fitted
from tacticapi.value.match_gain import Array
from tacticapi.value.price import MIDDLING, same_handed


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
