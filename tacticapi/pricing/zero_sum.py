"""Solve two-player zero-sum games: the best mixes, their value, and what a predictable mix gives away.

Some best mix equalises a square sub-game (Shapley & Snow 1950, from memory), so the best of the equalising mixes of
all square sub-games is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, product

import numpy as np
from numpy.typing import ArrayLike, NDArray

_SINGULAR = 1e-12
_NEGATIVE = -1e-12
_TIE = 1e-12  # if mixes guarantee the same up to rounding, the one with the fewest rows is taken

Places = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """Best mixes of both players (shares that sum to 1) and the value, in the unit of the entries."""

    mix_row: tuple[float, ...]
    mix_col: tuple[float, ...]
    value: float


def solve(matrix: ArrayLike) -> Solution:
    """Solve one game. If several mixes are best, return one of them, the same every time."""
    game = np.asarray(matrix, dtype=float)
    row, col = best_mixes(game[np.newaxis])[0], best_mixes(-game.T[np.newaxis])[0]
    return Solution(tuple(row.tolist()), tuple(col.tolist()), float(row @ game @ col))


def guaranteed(matrix: ArrayLike, row_mix: ArrayLike) -> float:
    """Return what a mix of rows yields against a column player who knows the mix and answers it best."""
    return float((np.asarray(row_mix) @ np.asarray(matrix)).min())


def exploitability(matrix: ArrayLike, row_mix: ArrayLike) -> float:
    """Return how far below the value a column player who knows the row mix can hold it; 0 for a best mix."""
    return max(0.0, solve(matrix).value - guaranteed(matrix, row_mix))


def best_mixes(games: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the best row mixes, shape (number of games, rows), for games of shape (number of games, rows, columns)."""
    mixes = np.zeros(games.shape[:2])
    most = np.full(len(games), -np.inf)
    for rows, cols in _kernels(*games.shape[1:]):
        candidate = _equalising(games, rows, cols)
        yields = np.einsum("gr,grc->gc", candidate, games).min(axis=1)
        better = (candidate.min(axis=1) >= _NEGATIVE) & (candidate.sum(axis=1) > 0.5) & (yields > most + _TIE)
        mixes[better], most[better] = candidate[better], yields[better]
    positive = np.maximum(mixes, 0.0)
    return np.asarray(positive / positive.sum(axis=1, keepdims=True))


@lru_cache(maxsize=16)
def _kernels(rows: int, cols: int) -> tuple[tuple[Places, Places], ...]:
    return tuple(
        kernel
        for size in range(1, min(rows, cols) + 1)
        for kernel in product(combinations(range(rows), size), combinations(range(cols), size))
    )


def _equalising(games: NDArray[np.float64], rows: Places, cols: Places) -> NDArray[np.float64]:
    """Return the mixes of `rows` that yield the same against each of `cols`; all zeros if there is no unique mix."""
    size, number = len(rows), len(games)
    mixes = np.zeros(games.shape[:2])
    if size == 1:
        mixes[:, rows[0]] = 1.0
        return mixes
    system = np.zeros((number, size + 1, size + 1))
    system[:, :size, :size] = games[:, rows][:, :, cols].transpose(0, 2, 1)
    system[:, :size, size], system[:, size, :size] = -1.0, 1.0
    solvable = np.abs(np.linalg.det(system)) > _SINGULAR
    right = np.zeros((int(solvable.sum()), size + 1, 1))
    right[:, size] = 1.0
    mixes[np.ix_(solvable, rows)] = np.linalg.solve(system[solvable], right)[:, :size, 0]
    return mixes
