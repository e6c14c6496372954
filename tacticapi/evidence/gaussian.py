"""Compute the posterior of a Gaussian given counts and readings: Laplace's approximation in observation space.

Each row is one pooled count or reading of a latent sum f = mu + loads . x + offset, where x is standard normal. A count
is binomial with chance expit(f); a reading is f plus noise. If P is the prior covariance of all f and W the curvature
at the mode, the mode solves f = mu + P (P + 1/W)^-1 z, where z is the working response (Rasmussen and Williams,
Gaussian processes for machine learning, 2006, section 3.4; the textbook form). A row's own offset, with variance tau^2,
is part of P, so that a count has weight 1 / (1 / (n p (1 - p)) + tau^2).
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dposv
from scipy.special import expit, ndtr

Array = NDArray[np.float64]
MAX_STEPS = 20
MAX_MOVE = 1.0  # log-odds per step: full steps can diverge on rare events
CLOSE = 1e-3  # log-odds: the next step of Newton's method would be about the square of this
LEAST_CURVATURE = 1e-9
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(31)
WEIGHTS = WEIGHTS / WEIGHTS.sum()
_LEGENDRE, _LEGENDRE_WEIGHTS = np.polynomial.legendre.leggauss(24)
FAR = 6.0  # standard deviations beyond which a normal's tail is negligible


@dataclass(frozen=True, slots=True)
class Rows:
    """The observations: loads (rows, qualities), means, variances of the rows' own offsets, counts or readings.

    A reading has `chances` 0, its value in `hits` and its variance in `noise`. `shared` contains the standard
    deviations of offsets that rows share, (rows, offsets).
    """

    loads: Array
    mu: Array
    own: Array
    hits: Array
    chances: Array
    noise: Array
    shared: Array


@dataclass(frozen=True, slots=True)
class Posterior:
    """The posterior of any sum t . x: mean t . loads' alpha, variance |t|^2 - b K^-1 b', where b = t loads'.

    `inverse` is K^-1, where K is the covariance of the working responses; `working` is those responses minus their
    prior means.
    """

    loads: Array
    alpha: Array
    inverse: Array
    working: Array

    def of(self, sums: Array) -> tuple[Array, Array, Array]:
        """Return the means, variances and K^-1-weighted links (sums, rows) of sums, (sums, qualities)."""
        links = sums @ self.loads.T
        weighed = links @ self.inverse
        variances = np.vecdot(sums, sums) - np.vecdot(weighed, links)
        return links @ self.alpha, np.maximum(variances, 1e-12), weighed

    def without(self, means: Array, variances: Array, weighed: Array) -> tuple[Array, Array]:
        """Return the means and variances of the sums without each row in turn, (sums, rows), at unchanged curvature."""
        own = self.inverse.diagonal()
        return (means[:, np.newaxis] - weighed * (self.alpha / own), variances[:, np.newaxis] + weighed * weighed / own)


def posterior(rows: Rows) -> Posterior:
    """Compute the posterior by Newton's method with clamped steps."""
    wide = np.hstack((rows.loads, rows.shared))
    prior = wide @ wide.T
    counted = rows.chances > 0.0
    latent = rows.mu.copy()
    n, hits = rows.chances, rows.hits
    for _ in range(MAX_STEPS):
        chance = expit(latent)
        expected = n * chance
        curvature = np.maximum(expected * (1.0 - chance), LEAST_CURVATURE)
        room = np.where(counted, 1.0 / curvature, rows.noise) + rows.own
        z = np.where(counted, latent + (hits - expected) / curvature, hits) - rows.mu
        alpha = _inverse(wide, prior, room, z)
        move = rows.mu + prior @ alpha + rows.own * alpha - latent
        largest = float(np.abs(move).max())
        latent = latent + move * min(1.0, MAX_MOVE / largest if largest else 1.0)
        if largest < CLOSE:
            break
    return Posterior(rows.loads, alpha, _inverse(wide, prior, room, np.eye(len(z))), z)


def _inverse(wide: Array, prior: Array, room: Array, right: Array) -> Array:
    """Return (wide wide' + diag(room))^-1 right, directly or, if rows outnumber columns, by Woodbury's identity."""
    rows, columns = wide.shape
    if rows <= columns:
        covariance = prior.copy()
        covariance.flat[:: rows + 1] += room
        return np.asarray(dposv(covariance, right)[1])
    scaled = wide / room[:, np.newaxis]
    inner = np.eye(columns) + scaled.T @ wide
    part = right / (room if right.ndim == 1 else room[:, np.newaxis])
    return np.asarray(part - scaled @ np.linalg.solve(inner, wide.T @ part))


@lru_cache(maxsize=4096)
def centre(share: float, spread: float) -> float:
    """Return the centre, in log-odds, of the logit-normal with this standard deviation and mean `share` (0 to 1)."""
    low, high = -12.0, 12.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if mean_share(middle, spread) < share else (low, middle)
    return (low + high) / 2


def mean_share(mu: float, spread: float) -> float:
    """Return the mean of expit(mu + spread Z), Z standard normal, by Gauss-Hermite quadrature."""
    return float(WEIGHTS @ expit(mu + spread * NODES))


def inside(means: Array, deviations: Array, low: Array, high: Array) -> Array:
    """Return the probability that a normal variable lies between two bounds; all arrays have the same shape."""
    return np.asarray(ndtr((high - means) / deviations) - ndtr((low - means) / deviations))


def both_inside(
    first: tuple[Array, Array, Array, Array], second: tuple[Array, Array, Array, Array], covariance: Array
) -> Array:
    """Return the probability that two normal variables both lie within bounds: each (means, deviations, low, high)."""
    m1, s1, low1, high1 = first
    m2, s2, low2, high2 = second
    left, right = (np.minimum(np.maximum((mark - m1) / s1, -FAR), FAR) for mark in (low1, high1))
    half = (right - left) / 2
    at = left[..., np.newaxis] + half[..., np.newaxis] * (1.0 + _LEGENDRE)
    slope = covariance / s1
    rest = np.sqrt(np.maximum(s2 * s2 - slope * slope, 1e-12))[..., np.newaxis]
    mean = m2[..., np.newaxis] + slope[..., np.newaxis] * at
    given = ndtr((high2[..., np.newaxis] - mean) / rest) - ndtr((low2[..., np.newaxis] - mean) / rest)
    return np.asarray(half * ((np.exp(-at * at / 2) * given) @ _LEGENDRE_WEIGHTS) / np.sqrt(2 * np.pi))
