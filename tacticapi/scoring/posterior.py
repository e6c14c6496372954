"""Average chances over uncertain point chances: means and percentiles over two Beta posteriors.

The mean chance differs from the chance at the mean: for Beta(37, 23) on serve it is 0.7546, not 0.7694 (recomputed).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv

from tacticapi.scoring.formats import Format
from tacticapi.scoring.games_and_sets import Chance
from tacticapi.scoring.match import Chances, Importance, MatchModel, importance_table
from tacticapi.scoring.score import State

BetaPair = tuple[float, float]

_NODES_BY_WEIGHT: Final = ((20.0, 20), (10.0, 40), (0.0, 64))
_NEAR_CERTAIN: Final = 4.0
_NODES_NEAR_CERTAIN: Final = 150
QUANTILE_CELLS: Final = 64
PERCENTILES: Final = (0.1, 0.9)


@lru_cache(maxsize=512)
def beta_nodes(a: float, b: float, n: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return nodes and weights of Gauss-Jacobi quadrature over Beta(a, b), exact below degree 2n. Raises ValueError."""
    if not (0.0 < a < np.inf and 0.0 < b < np.inf) or n < 1:
        raise ValueError(f"Beta({a}, {b}) with {n} nodes: a and b must be positive, n at least 1")
    # The recurrence of the monic Jacobi polynomials with exponents b - 1 and a - 1 (Golub & Welsch 1969, from memory);
    # scipy's roots_jacobi overflows once a + b is in the tens of thousands, and a kept history can get there.
    k = np.arange(1.0, n)
    total, twice = a + b, 2.0 * k + a + b - 2.0
    diagonal = np.concatenate(([(a - b) / total], (a - b) * (total - 2.0) / (twice * (twice + 2.0))))
    first = np.where(k == 1.0, 1.0, (k + total - 2.0) / np.where(k == 1.0, 1.0, twice - 1.0))
    squared = 4.0 * k * (k + a - 1.0) * (k + b - 1.0) * first / (twice**2 * (twice + 1.0))
    beside = np.sqrt(squared)
    roots, vectors = np.linalg.eigh(np.diag(diagonal) + np.diag(beside, 1) + np.diag(beside, -1))
    nodes, weights = np.clip((1.0 + roots) / 2.0, 0.0, 1.0), vectors[0] ** 2
    nodes.flags.writeable = weights.flags.writeable = False
    return nodes, weights


def nodes_needed(a: float, b: float) -> int:
    """Return how many nodes keep a mean chance within 1e-5 of that of 300 nodes; near certainty, it takes many."""
    if min(a, b) < _NEAR_CERTAIN:
        return _NODES_NEAR_CERTAIN
    return next(nodes for least, nodes in _NODES_BY_WEIGHT if a + b >= least)


def expected(
    fmt: Format, state: State, serve_beta: BetaPair, return_beta: BetaPair, nodes: int | None = None
) -> Chances:
    """Return the chances from a score, averaged over the Beta(a, b) posteriors of both point chances."""
    serve, ret, mean = _averaged(serve_beta, return_beta, nodes)
    return MatchModel(fmt, serve, ret).at(state).map(mean)


def expected_importance(
    fmt: Format, state: State, serve_beta: BetaPair, return_beta: BetaPair, nodes: int | None = None
) -> dict[str, Importance]:
    """Return the importance of every point of the game, averaged as in `expected`; see `importance_table`."""
    serve, ret, mean = _averaged(serve_beta, return_beta, nodes)
    table = importance_table(fmt, state, serve, ret)
    return {score: Importance(mean(of.game), mean(of.set), mean(of.match)) for score, of in table.items()}


def _averaged(
    serve_beta: BetaPair, return_beta: BetaPair, nodes: int | None
) -> tuple[NDArray[np.float64], NDArray[np.float64], Callable[[Chance], float]]:
    """Return point chances at the nodes of both posteriors, and a function that averages a chance over all pairs."""
    serve, serve_share = beta_nodes(*serve_beta, nodes or nodes_needed(*serve_beta))
    ret, return_share = beta_nodes(*return_beta, nodes or nodes_needed(*return_beta))

    def mean(chance: Chance) -> float:
        return float(serve_share @ np.asarray(chance) @ return_share)

    return serve[:, np.newaxis], ret, mean


def percentiles(fmt: Format, state: State, serve_beta: BetaPair, return_beta: BetaPair) -> tuple[Chances, Chances]:
    """Return the 10th and the 90th percentile of every chance over both posteriors, each chance by itself.

    Each posterior is cut into QUANTILE_CELLS equal parts; the match chance was then off by at most 0.0053.
    """
    middles = (np.arange(QUANTILE_CELLS) + 0.5) / QUANTILE_CELLS
    serve, ret = (betaincinv(a, b, middles) for a, b in (serve_beta, return_beta))
    spread = MatchModel(fmt, serve[:, np.newaxis], ret).at(state)
    low, high = (
        spread.map(lambda chance, level=level: float(np.quantile(chance, level, method="hazen")))  # type: ignore[misc]
        for level in PERCENTILES
    )
    return low, high
