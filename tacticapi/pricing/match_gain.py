"""Convert a gain in points to match chance at the current score: E[W with the gain] - E[W].

W is the exact chance of winning the match, computed on a Chebyshev grid and interpolated; E is the mean over the
posteriors of both point chances. Gains are small, so lines are ranked by the slope of E[W].
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv, ndtri

from tacticapi.domain.reasoning import Priced
from tacticapi.domain.rules import Touches
from tacticapi.pricing.baseline import Baseline, Beta
from tacticapi.scoring.formats import Format
from tacticapi.scoring.match import MatchModel, beta_nodes, nodes_needed
from tacticapi.scoring.score import State

Array = NDArray[np.float64]
GRID = 40  # nodes per side: mean win chances to within 1e-5 (tests/unit/pricing)
CELLS = 16  # equal-probability parts of each posterior behind the percentiles
PERCENTILES = (0.10, 0.90)
SPREAD = tuple(ndtri((np.arange(8) + 0.5) / 8).tolist())  # equally likely prices, in standard deviations from the mean
# a gain over all points as gains on serve and on return: each is half of all points
PARTS = {Touches.SERVE: (2.0, 0.0), Touches.RETURN: (0.0, 2.0), Touches.BOTH: (1.0, 1.0)}


@dataclass(frozen=True, slots=True)
class MatchGain:
    """Expected gain in match chance, with its 10th and 90th percentiles over both point chances and the price."""

    mean: float
    low: float
    high: float


class MatchPricer:
    """Converts gains in points at one score, for one pair of posteriors."""

    def __init__(self, fmt: Format, state: State, base: Baseline) -> None:
        """Compute W on the grid and its mean. If the match is decided, every gain is 0."""
        self._decided, (self._win, *importance) = _chances(fmt, state)
        self._serve, self._return = _axis(base.serve), _axis(base.return_)
        self._by_serve = self._win @ self._return.mean
        self.now = float(self._serve.mean @ self._by_serve)  # the chance of winning the match, 0 to 1
        means = [float(self._serve.mean @ one @ self._return.mean) for one in importance]
        self.importance, self.importance_in_match = means  # how much the next point is expected to matter

    def rates(self) -> dict[Touches, float]:
        """Return the gain in match chance per point gained over all points, by the points that a tactic affects."""
        if self._decided:
            return dict.fromkeys(Touches, 0.0)
        serve = 2.0 * float(self._serve.slope @ self._by_serve)
        return_ = 2.0 * float(self._serve.mean @ self._win @ self._return.slope)
        return {Touches.SERVE: serve, Touches.RETURN: return_, Touches.BOTH: (serve + return_) / 2}

    def gains(self, priced: Sequence[Priced]) -> list[MatchGain]:
        """Return the match gains of these prices with percentiles, for the suggestions that are shown."""
        if self._decided or not priced:
            return [MatchGain(0.0, 0.0, 0.0)] * len(priced)
        gains = np.array([[item.point + z * item.spread for z in SPREAD] for item in priced])
        parts = np.array([PARTS[item.firing.tactic.touches] for item in priced])
        serve, return_ = (gains * part[:, np.newaxis] for part in parts.T)
        rows = self._serve.rows(serve.ravel()) @ self._win
        chances = (rows * self._return.rows(return_.ravel())).sum(axis=1).reshape(serve.shape)
        means = chances.mean(axis=1) - self.now
        now = self._serve.at_rest @ self._win @ self._return.at_rest.T
        then = self._serve.cells(serve) @ self._win @ self._return.cells(return_).swapaxes(-1, -2)
        ordered = np.sort((then - now).reshape(len(priced), -1), axis=1)
        at = np.array(PERCENTILES) * (ordered.shape[1] - 1)
        below, part = at.astype(int), at % 1.0
        ends = (1.0 - part) * ordered[:, below] + part * ordered[:, below + 1]
        return [MatchGain(mean, *ends) for mean, ends in zip(means.tolist(), ends.tolist(), strict=True)]


@dataclass(frozen=True)
class _Axis:
    """One posterior: quadrature nodes with weights, and the medians of its equal-probability cells."""

    nodes: Array
    weights: Array
    middles: Array

    def rows(self, shifts: Array) -> Array:
        """Return, for each shift (in points won per point), weights on the grid that give the mean of the shifted W."""
        return np.asarray(self.weights @ _shifted(self.nodes, shifts))

    def cells(self, shifts: Array) -> Array:
        """Return, for each shift, the interpolation rows of the cells' medians."""
        return _shifted(self.middles, shifts)

    @cached_property
    def mean(self) -> Array:
        """Return the row whose product with W is its mean."""
        return np.asarray(self.weights @ interpolation(self.nodes))

    @cached_property
    def slope(self) -> Array:
        """Return the row whose product with W is the slope of its mean as the chance shifts."""
        return np.asarray(self.mean @ _differentiation())

    @cached_property
    def at_rest(self) -> Array:
        """Return the interpolation rows of the cells' medians, not shifted."""
        return interpolation(self.middles)


@lru_cache(maxsize=512)
def _axis(beta: Beta) -> _Axis:
    nodes, weights = beta_nodes(beta.a, beta.b, nodes_needed(beta.a, beta.b))
    return _Axis(nodes, weights, betaincinv(beta.a, beta.b, (np.arange(CELLS) + 0.5) / CELLS))


def _shifted(points: Array, shifts: Array) -> Array:
    """Return the interpolation from the grid to points moved by each shift, shape (*shifts, points, GRID)."""
    return interpolation(np.clip(np.add.outer(shifts, points), 0.0, 1.0))


@lru_cache(maxsize=32)
def _on_grid(fmt: Format) -> MatchModel:
    x = _grid()[0]
    return MatchModel(fmt, x[:, np.newaxis], x)


@lru_cache(maxsize=512)
def _chances(fmt: Format, state: State) -> tuple[bool, list[Array]]:
    """Return whether the match is decided and, on the grid, its chance and a point's importance in game and match."""
    at = _on_grid(fmt).at(state)
    found = (at.match.now, at.game.importance, at.match.importance)
    on_grid = [np.ascontiguousarray(np.broadcast_to(chance, (GRID, GRID))) for chance in found]
    return state.winner is not None, on_grid


@lru_cache(maxsize=1)
def _differentiation() -> Array:
    """Return the matrix from values on the grid to those of the interpolant's derivative (barycentric form)."""
    x, signs = _grid()
    matrix = np.divide.outer(1.0 / signs, 1.0 / signs) / (np.subtract.outer(x, x) + np.eye(GRID))
    np.fill_diagonal(matrix, 0.0)
    np.fill_diagonal(matrix, -matrix.sum(axis=1))
    return np.asarray(matrix)


@lru_cache(maxsize=1)
def _grid() -> tuple[Array, Array]:
    """Return the Chebyshev points of the second kind on [0, 1] and their barycentric weights."""
    k = np.arange(GRID)
    signs = np.where(k % 2 == 0, 1.0, -1.0)
    signs[[0, -1]] *= 0.5
    return (1.0 - np.cos(np.pi * k / (GRID - 1))) / 2.0, signs


def interpolation(at: Array) -> Array:
    """Return the matrices (..., GRID) that interpolate from the grid to points in [0, 1] (barycentric form)."""
    x, signs = _grid()
    gaps = at[..., np.newaxis] - x
    hits = gaps == 0.0
    on_grid = hits.any()
    if on_grid:
        gaps[hits] = 1.0
    terms = signs / gaps
    terms /= terms.sum(axis=-1, keepdims=True)
    if on_grid:
        found = hits.any(axis=-1)
        terms[found] = hits[found]
    return np.asarray(terms)
