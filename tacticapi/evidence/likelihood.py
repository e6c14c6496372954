"""How much more likely what was seen is if a trait holds than if it does not, as log odds.

The Beta-Binomial and Dirichlet-multinomial forms are textbook; the shares and sizes they are fed with are
model defaults of ours. Counts may be fractions, because older games count for less.
"""

from collections.abc import Sequence
from functools import lru_cache
from math import exp, lgamma, log


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
    return [
        (weight / total, [size * (share if i == spot else (1 - share) * b / (total - weight)) for i, b in enumerate(base)])
        for spot, weight in enumerate(base)
    ]


def ends_log_odds(
    one: tuple[float, float], other: tuple[float, float], worse: float, usual: float, size: float
) -> float:
    """What errors at two ends add to the log odds that conditions unsettle a player at one of them.

    Each end is (errors, strokes). Which end is the worse one is unknown and averaged over.
    """
    (a, n), (b, m) = one, other
    usual_here, usual_there = log_beta_binomial(a, n, usual, size), log_beta_binomial(b, m, usual, size)
    worse_here, worse_there = log_beta_binomial(a, n, worse, size), log_beta_binomial(b, m, worse, size)
    return log(0.5 * exp(worse_here - usual_here) + 0.5 * exp(worse_there - usual_there))
