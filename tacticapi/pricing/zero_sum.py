"""Two-player zero-sum games: the best mixes, what they are worth, and what a guessable mix gives away.

Rows are the server's spots, columns the receiver's leanings, entries the server's chance of the point. The theory is
von Neumann's; the closed form for two by two is textbook knowledge.
Many small games are solved at once: some best mix of a game makes the rows it uses and equally many columns an
equalising sub-game (Shapley & Snow 1950, from memory). So the equalising mixes of all square sub-games are candidates,
and the candidate that guarantees most is exact. Games of three by three have 19 sub-games; sizes above four by four are
refused, as their number explodes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import linprog

Matrix = NDArray[np.float64]
Mix = NDArray[np.float64]
LARGEST = 4
_SINGULAR = 1e-12
_NEGATIVE = -1e-12

Places = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """Best mixes of both players (shares that sum to 1) and the value, in the unit of the entries."""

    mix_row: tuple[float, ...]
    mix_col: tuple[float, ...]
    value: float


def solve(matrix: ArrayLike) -> Solution:
    """Solve a game of any size: a saddle point if there is one, else in closed form (2x2), else as a linear programme.

    Where several mixes are best, one of them is returned, the same one every time. Raises ValueError unless the
    matrix has two dimensions, at least one entry, and finite entries only; ArithmeticError where the linear programme
    cannot be solved, as with entries of 1e25.
    """
    game = checked(matrix)
    row, col = _saddle(game) or (_two_by_two(game) if game.shape == (2, 2) else _linear_programme(game))
    return Solution(tuple(row.tolist()), tuple(col.tolist()), float(row @ game @ col))


def guaranteed(matrix: ArrayLike, row_mix: ArrayLike) -> float:
    """What a mix of rows yields against a column player who knows the mix and answers it best."""
    game, mix = checked(matrix), np.asarray(row_mix, dtype=float)
    if mix.shape != game.shape[:1] or not np.all(mix >= 0.0) or abs(mix.sum() - 1.0) > 1e-9:
        raise ValueError(f"{mix.tolist()} is no mix of {len(game)} rows: shares of 0 or more that sum to 1")
    return float((mix @ game).min())


def exploitability(matrix: ArrayLike, row_mix: ArrayLike) -> float:
    """How far below the value a mix of rows can be held by a column player who has read it; 0 for a best mix."""
    return max(0.0, solve(matrix).value - guaranteed(matrix, row_mix))


def checked(matrix: ArrayLike) -> Matrix:
    """The matrix as floats. Raises ValueError for another shape, no entries, or entries that are not finite."""
    game = np.asarray(matrix, dtype=float)
    if game.ndim != 2 or not game.size or not np.all(np.isfinite(game)):
        raise ValueError("a game needs rows of equal length, at least one entry, and finite entries only")
    return game


def _saddle(game: Matrix) -> tuple[Mix, Mix] | None:
    row, col = int(game.min(axis=1).argmax()), int(game.max(axis=0).argmin())
    if game[row].min() < game[:, col].max():
        return None
    return np.eye(len(game))[row], np.eye(game.shape[1])[col]


def _two_by_two(game: Matrix) -> tuple[Mix, Mix]:
    (a, b), (c, d) = game
    spread = a - b - c + d  # never 0 without a saddle point: both diagonals then lie on opposite sides
    x, y = (d - c) / spread, (d - b) / spread
    return np.array([x, 1.0 - x]), np.array([y, 1.0 - y])


def _linear_programme(game: Matrix) -> tuple[Mix, Mix]:
    # The variables are the shares of the rows and the value v; for every column, v may not exceed what the mix yields.
    rows, cols = game.shape
    found = linprog(
        c=np.append(np.zeros(rows), -1.0),
        A_ub=np.column_stack((-game.T, np.ones(cols))),
        b_ub=np.zeros(cols),
        A_eq=np.append(np.ones(rows), 0.0)[np.newaxis],
        b_eq=[1.0],
        bounds=[(0.0, None)] * rows + [(None, None)],
        method="highs",
    )
    if not found.success:
        raise ArithmeticError(f"no solution of a game of {rows} by {cols}: {found.message}")
    return _shares(found.x[:rows]), _shares(-found.ineqlin.marginals)


def _shares(parts: NDArray[np.float64]) -> Mix:
    positive = np.maximum(parts, 0.0)
    return np.asarray(positive / positive.sum())


def best_mixes(games: NDArray[np.float64]) -> NDArray[np.float64]:
    """Best row mixes, shape (number of games, rows), for games of shape (number of games, rows, columns).

    Rows and columns: 1 to 4 each, else ValueError.
    """
    if games.ndim != 3 or not 1 <= min(games.shape[1:]) <= max(games.shape[1:]) <= LARGEST:
        raise ValueError(f"games of shape {games.shape}: expected (games, rows, columns), at most {LARGEST} each")
    mixes = np.zeros(games.shape[:2])
    most = np.full(len(games), -np.inf)
    for rows, cols in _kernels(*games.shape[1:]):
        candidate = _equalising(games, rows, cols)
        yields = np.einsum("gr,grc->gc", candidate, games).min(axis=1)
        better = (candidate.min(axis=1) >= _NEGATIVE) & (candidate.sum(axis=1) > 0.5) & (yields > most)
        mixes[better], most[better] = candidate[better], yields[better]
    positive = np.maximum(mixes, 0.0)
    return np.asarray(positive / positive.sum(axis=1, keepdims=True))


@lru_cache(maxsize=LARGEST * LARGEST)
def _kernels(rows: int, cols: int) -> tuple[tuple[Places, Places], ...]:
    def pairs() -> Iterator[tuple[Places, Places]]:
        for size in range(1, min(rows, cols) + 1):
            for chosen in combinations(range(rows), size):
                for against in combinations(range(cols), size):
                    yield chosen, against

    return tuple(pairs())


def _equalising(games: NDArray[np.float64], rows: Places, cols: Places) -> NDArray[np.float64]:
    """Mixes of `rows` that yield the same against each of `cols`; all zeros where there is no single one."""
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
