"""How much more likely what was seen is if a trait holds than if it does not, as log odds.

The Beta-Binomial and Dirichlet-multinomial forms are textbook; the shares and sizes they are fed with are
model defaults of ours. Counts may be fractions, because older games count for less.
"""

from collections.abc import Sequence
from functools import lru_cache
from math import exp, fsum, lgamma, log, log1p, sqrt

OWN_LEVEL = 2.0  # strokes that the usual share of errors is worth before a player's own are counted (model default)
NODES = 64  # of the midpoint rule
WIDTHS = 8.0  # standard deviations on either side that it covers


@lru_cache(maxsize=4096)
def log_beta(a: float, b: float) -> float:
    """Logarithm of the Beta function for a, b > 0."""
    return lgamma(a) + lgamma(b) - lgamma(a + b)


def log_beta_binomial(successes: float, chances: float, share: float, size: float) -> float:
    """Log chance of a given sequence with so many successes under Beta(share*size, (1-share)*size).

    The binomial coefficient is left out: it cancels in every ratio. 0 <= successes <= chances, 0 < share < 1.
    """
    a, b = share * size, (1.0 - share) * size
    return log_beta(a + successes, b + chances - successes) - log_beta(a, b)


def share_log_odds(successes: float, chances: float, holds: float, fails: float, size: float) -> float:
    """What a count of successes out of chances adds to the log odds of a trait.

    >>> round(share_log_odds(5, 8, 0.78, 0.655, 12), 3) < 0
    True
    """
    with_trait = log_beta_binomial(successes, chances, holds, size)
    return with_trait - log_beta_binomial(successes, chances, fails, size)


def log_dirichlet_multinomial(counts: Sequence[float], alphas: Sequence[float]) -> float:
    """Log chance of a given sequence with these counts under Dirichlet(alphas); the coefficient is left out."""
    total, size = sum(counts), sum(alphas)
    parts = sum(lgamma(a + n) - lgamma(a) for a, n in zip(alphas, counts, strict=True))
    return lgamma(size) - lgamma(size + total) + parts


def favourite_log_odds(counts: Sequence[float], share: float, size: float, base: Sequence[float]) -> float:
    """What the spread over options adds to the log odds that one option is the favourite.

    The favourite is unknown, so it is averaged over the options in proportion to `base` (never the largest
    count picked afterwards); without a favourite the options follow `base`. `share` is the favourite's share,
    `size` the Dirichlet total.
    """
    fails = log_dirichlet_multinomial(counts, spot_alphas(size, base))
    favourites = favourite_alphas(share, size, base)
    return log(sum(weight * exp(log_dirichlet_multinomial(counts, alphas) - fails) for weight, alphas in favourites))


def spot_alphas(size: float, base: Sequence[float]) -> list[float]:
    """The Dirichlet of the options without a favourite: in proportion to `base`."""
    total = sum(base)
    return [size * b / total for b in base]


def favourite_alphas(share: float, size: float, base: Sequence[float]) -> list[tuple[float, list[float]]]:
    """Each option as the favourite: the chance that it is, and the Dirichlet of the options then."""
    total = sum(base)
    found = []
    for spot, weight in enumerate(base):
        rest = total - weight
        alphas = [size * (share if i == spot else (1 - share) * b / rest) for i, b in enumerate(base)]
        found.append((weight / total, alphas))
    return found


def ends_log_odds(one: tuple[float, float], other: tuple[float, float], worse: float, usual: float) -> float:
    """What errors at two ends add to the log odds that conditions unsettle a player at one of them.

    Each end is (errors, strokes). Which end is the worse one, and how many errors the player makes anyway, are
    unknown and averaged over, so that many errors at both ends alike speak against it. The two ends stand as far
    apart, in log odds, as `worse` and `usual`. Midpoint rule on the log odds of the player's share.
    """
    prior = (usual * OWN_LEVEL, OWN_LEVEL)
    total = prior[1] + one[1] + other[1]
    middle = (prior[0] + one[0] + other[0]) / total
    half = (_logit(worse) - _logit(usual)) / 2
    reach = WIDTHS / sqrt(total * middle * (1.0 - middle)) + half
    grid = [_logit(middle) + reach * ((2 * i + 1) / NODES - 1.0) for i in range(NODES)]
    base = [_log_chance(prior, x) for x in grid]

    def averaged(shift: float) -> float:
        return _log_sum(
            [_log_chance(one, x + shift) + _log_chance(other, x - shift) + b for x, b in zip(grid, base, strict=True)]
        )

    return _log_sum([averaged(half), averaged(-half)]) - log(2) - averaged(0.0)


def _logit(share: float) -> float:
    return log(share / (1.0 - share))


def _log_chance(counted: tuple[float, float], log_odds: float) -> float:
    """Log chance of (hits, chances) in a given sequence at a share with these log odds."""
    hits, chances = counted
    return -hits * log1p(exp(-log_odds)) - (chances - hits) * log1p(exp(log_odds))


def _log_sum(logs: Sequence[float]) -> float:
    top = max(logs)
    return top + log(fsum(exp(x - top) for x in logs))
