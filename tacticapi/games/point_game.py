"""From counts to a game: the server's chance of the point by spot and leaning, as a mean and as posterior draws.

A serve wins `lean_effect` more often against a receiver who leans elsewhere. Serves whose leaning was not noted were
played against the leaning usually shown, so their share is the row's mean over that leaning. Around this structure
every chance is a Beta of its own, moved by the serves noted with that very leaning.

As the effect is the same for every spot, spots worth mixing get equal shares until leanings are noted with serves: a
better spot draws a receiver who leans to it more, and only a spot that is worse by more than the effect drops out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tacticapi.games.counts import NONE, MixModel, SpotCounts

_EDGE = 0.01  # no chance is held nearer to never or always

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PointGame:
    """Chances of the point, shape (..., spots, leanings), and the receiver's leaning, shape (..., leanings)."""

    chances: Array
    leaning: Array


class PointBeliefs:
    """The posterior after one side's counts. Raises ValueError if `least_share` is too large for so many spots."""

    def __init__(self, counts: SpotCounts, model: MixModel) -> None:
        spots = counts.spots
        if model.least_share * len(spots) > 1.0:
            raise ValueError(f"a least share of {model.least_share} is too large for {len(spots)} spots")
        self._model = model
        self._same = np.eye(len(spots))
        leans = np.array([counts.leans.get(spot, 0.0) for spot in spots])
        self._leans = leans + model.lean_serves / len(spots)
        rows = np.array([(s.won, s.of - s.won) for s in (counts.serves.get(spot, NONE) for spot in spots)])
        usual = np.clip(self._at_leaning(self._leans / self._leans.sum()), _EDGE, 1.0 - _EDGE)
        self._won = rows[:, 0] + model.prior_serves * usual
        self._lost = rows[:, 1] + model.prior_serves * (1.0 - usual)
        noted = [[counts.by_lean.get(spot, {}).get(lean, NONE) for lean in spots] for spot in spots]
        self._cell_won = np.array([[cell.won for cell in row] for row in noted], dtype=float)
        self._cell_lost = np.array([[cell.of - cell.won for cell in row] for row in noted], dtype=float)
        self.trust = model.stays * counts.leaned / (counts.leaned + model.lean_serves)

    def mean(self) -> PointGame:
        """The posterior mean of every chance and of the leaning (exact but for chances cut off at 0.01 and 0.99)."""
        leaning = self._leans / self._leans.sum()
        prior = self._structure(self._won / (self._won + self._lost), leaning)
        weight = self._model.effect_serves
        total = weight + self._cell_won + self._cell_lost
        return PointGame((weight * prior + self._cell_won) / total, leaning)

    def draws(self, number: int, dice: np.random.Generator) -> PointGame:
        """So many independent draws from the posterior."""
        leaning = dice.dirichlet(self._leans, number)
        prior = self._structure(dice.beta(self._won, self._lost, (number, len(self._won))), leaning)
        weight = self._model.effect_serves
        won, lost = weight * prior + self._cell_won, weight * (1.0 - prior) + self._cell_lost
        return PointGame(dice.beta(won, lost), leaning)

    def played(self, game: PointGame) -> Array:
        """The same game against a receiver who keeps to the leaning with chance `trust` and else answers the mix.

        Rows then stand for a mix that keeps `least_share` on every spot and puts all the rest on one.
        """
        kept = np.einsum("...sl,...l->...s", game.chances, game.leaning)[..., np.newaxis]
        against = self.trust * kept + (1.0 - self.trust) * game.chances
        least = self._model.least_share
        return np.asarray((1.0 - len(self._same) * least) * against + least * against.sum(axis=-2, keepdims=True))

    def with_least_share(self, free: Array) -> Array:
        """The shares of the spots behind a mix of the rows of `played`."""
        least = self._model.least_share
        return least + (1.0 - len(self._same) * least) * free

    def _at_leaning(self, leaning: Array) -> Array:
        return np.asarray(self._model.prior_share + self._model.lean_effect * (1.0 / len(leaning) - leaning))

    def _structure(self, share: Array, leaning: Array) -> Array:
        effect = self._model.lean_effect * (leaning[..., np.newaxis] - self._same)
        return np.clip(share[..., np.newaxis] + effect, _EDGE, 1.0 - _EDGE)
