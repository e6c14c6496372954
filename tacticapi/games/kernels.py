"""The best row mixes of many small games at once.

Some best mix of a game makes the rows it uses and equally many columns an equalising sub-game (Shapley & Snow 1950,
from memory). So the equalising mixes of all square sub-games are candidates, and the candidate that guarantees most
is exact. Games of three by three have 19 sub-games; sizes above four by four are refused, as their number explodes.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

LARGEST = 4
_SINGULAR = 1e-12
_NEGATIVE = -1e-12

Places = tuple[int, ...]


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
