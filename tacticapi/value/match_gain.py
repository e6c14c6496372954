"""What a gain in points is worth in match chance from the present score.

Match gain = P * E[W at the gain if the traits hold] + (1 - P) * E[W at the loss if not] - E[W]: W is the exact
chance to win the match, E the mean over the posteriors of both point chances (never W at the mean, which overprices
up to twofold at the start of a match). W is worked out once on a Chebyshev grid and interpolated, so that pricing one
more tactic costs two small products.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv

from tacticapi.domain.firing import Priced
from tacticapi.domain.tactic import Touches
from tacticapi.scoring import Chances, Format, MatchModel, State, beta_nodes
from tacticapi.scoring.posterior import nodes_needed
from tacticapi.value.baseline import Baseline, Beta

Array = NDArray[np.float64]
GRID = 40  # nodes a side: mean win chances to within 1e-5 (tests/unit/value)
CELLS = 16  # equal-probability parts of each posterior behind the percentiles
PERCENTILES = (0.10, 0.90)
POWERS = 5  # of the shift, by which many gains are priced at once


@dataclass(frozen=True, slots=True)
class MatchGain:
    """Expected gain in match chance with its 10th and 90th percentile over both point chances and the traits."""

    mean: float
    low: float
    high: float


class MatchPricer:
    """Prices gains in points at one score for one pair of posteriors."""

    def __init__(self, fmt: Format, state: State, base: Baseline) -> None:
        """Work out W on the grid and its mean; `state` may be decided, then every gain is 0."""
        self._decided = state.winner is not None
        x = _grid()[0]
        self._at: Chances = MatchModel(fmt, x[:, np.newaxis], x).at(state)
        self._win = np.asarray(np.broadcast_to(self._at.match.now, (GRID, GRID)))
        self._serve = _Axis.of(base.serve)
        self._return = _Axis.of(base.return_)
        self._now = self._mean(0.0, 0.0)

    @property
    def importance(self) -> float:
        """Expected importance (0 to 1) of the next point within its game."""
        game = np.broadcast_to(np.asarray(self._at.game.importance), (GRID, GRID))
        return float(self._serve.row(0.0) @ game @ self._return.row(0.0))

    @property
    def importance_in_match(self) -> float:
        """Expected importance (0 to 1) of the next point within the match."""
        match = np.broadcast_to(np.asarray(self._at.match.importance), (GRID, GRID))
        return float(self._serve.row(0.0) @ match @ self._return.row(0.0))

    @property
    def win_chance(self) -> float:
        """Expected chance to win the match from here."""
        return self._now

    def mean(self, priced: Priced) -> float:
        """Expected gain in match chance of a priced firing."""
        if self._decided:
            return 0.0
        up, down = (self._mean(*_shifts(priced, step)) for step in (priced.up, priced.down))
        return priced.chance * up + (1.0 - priced.chance) * down - self._now

    def curves(self) -> dict[Touches, tuple[float, ...]]:
        """Expected gain in match chance as a polynomial of how far the points that each touches are shifted.

        Taylor coefficients from power 0 to POWERS; the shift is in points won a point. For shifts up to 0.018 it stays
        within 1e-5 of `mean` while no posterior is close to certainty (tests/unit/value).
        """
        if self._decided:
            return dict.fromkeys(Touches, (0.0,) * (POWERS + 1))
        means = (self._serve.powers() @ self._win @ self._return.powers().T).tolist()
        means[0][0] -= self._now
        both = (sum(means[i][power - i] for i in range(power + 1)) for power in range(POWERS + 1))
        return {
            Touches.SERVE: tuple(row[0] for row in means),
            Touches.RETURN: tuple(means[0]),
            Touches.BOTH: tuple(both),
        }

    def gain(self, priced: Priced) -> MatchGain:
        """Expected gain with its percentiles; dearer than `mean`, for the suggestions that are shown."""
        if self._decided:
            return MatchGain(0.0, 0.0, 0.0)
        now = self._cells(0.0, 0.0)
        up, down = ((self._cells(*_shifts(priced, step)) - now).ravel() for step in (priced.up, priced.down))
        weights = np.repeat((priced.chance, 1.0 - priced.chance), up.size)
        low, high = _weighted_percentiles(np.concatenate((up, down)), weights, PERCENTILES)
        return MatchGain(self.mean(priced), low, high)

    def _mean(self, serve: float, return_: float) -> float:
        return float(self._serve.row(serve) @ self._win @ self._return.row(return_))

    def _cells(self, serve: float, return_: float) -> Array:
        return np.asarray(self._serve.cells(serve) @ self._win @ self._return.cells(return_).T)


@dataclass(frozen=True, slots=True)
class _Axis:
    """One posterior: quadrature nodes with weights, equal-probability cells, and interpolation rows by shift."""

    nodes: Array
    weights: Array
    middles: Array
    rows: dict[float, Array]

    @classmethod
    def of(cls, beta: Beta) -> "_Axis":
        nodes, weights = beta_nodes(beta.a, beta.b, nodes_needed(beta.a, beta.b))
        return cls(nodes, weights, _middles(beta), {})

    def row(self, shift: float) -> Array:
        """Weights on the grid that give the mean of W with the posterior shifted by so many points."""
        if shift not in self.rows:
            self.rows[shift] = np.asarray(self.weights @ interpolation(np.clip(self.nodes + shift, 0.0, 1.0)))
        return self.rows[shift]

    def powers(self) -> Array:
        """Rows whose products with W are the Taylor coefficients of its mean in the shift, from power 0 on."""
        rows = [self.row(0.0)]
        for power in range(1, POWERS + 1):
            rows.append(rows[-1] @ _differentiation() / power)
        return np.array(rows)

    def cells(self, shift: float) -> Array:
        """Interpolation rows of the cells' medians, shifted."""
        return interpolation(np.clip(self.middles + shift, 0.0, 1.0))


@lru_cache(maxsize=512)
def _middles(beta: Beta) -> Array:
    return np.asarray(betaincinv(beta.a, beta.b, (np.arange(CELLS) + 0.5) / CELLS))


@lru_cache(maxsize=1)
def _differentiation() -> Array:
    """Matrix from values on the grid to those of the interpolant's derivative (barycentric form)."""
    x, signs = _grid()
    matrix = np.divide.outer(1.0 / signs, 1.0 / signs) / (np.subtract.outer(x, x) + np.eye(GRID))
    np.fill_diagonal(matrix, 0.0)
    np.fill_diagonal(matrix, -matrix.sum(axis=1))
    return np.asarray(matrix)


@lru_cache(maxsize=1)
def _grid() -> tuple[Array, Array]:
    """Chebyshev points of the second kind on [0, 1] and their barycentric weights."""
    k = np.arange(GRID)
    signs = np.where(k % 2 == 0, 1.0, -1.0)
    signs[[0, -1]] *= 0.5
    return (1.0 - np.cos(np.pi * k / (GRID - 1))) / 2.0, signs


def interpolation(at: Array) -> Array:
    """Matrix (len(at), GRID) that interpolates from the grid to points in [0, 1], barycentric form."""
    x, signs = _grid()
    gaps = at[:, np.newaxis] - x
    hits = gaps == 0.0
    on_grid = hits.any()
    if on_grid:
        gaps[hits] = 1.0
    terms = signs / gaps
    terms /= terms.sum(axis=1, keepdims=True)
    if on_grid:
        found = hits.any(axis=1)
        terms[found] = hits[found]
    return np.asarray(terms)


def _shifts(priced: Priced, step: float) -> tuple[float, float]:
    """Shift of (serve, return) points: the step a touched point on its share of the points."""
    effect = priced.firing.tactic.effect
    shift = round(effect.share * step, 9)
    return (shift if effect.on is not Touches.RETURN else 0.0, shift if effect.on is not Touches.SERVE else 0.0)


def _weighted_percentiles(values: Array, weights: Array, levels: Sequence[float]) -> tuple[float, float]:
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weights[order])
    reached = (reached - weights[order] / 2) / reached[-1]
    low, high = np.interp(levels, reached, values[order])
    return float(low), float(high)
