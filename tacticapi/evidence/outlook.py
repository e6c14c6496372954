"""What a further look could show: the chances of every outcome, if a trait holds and if it does not.

The chances are those of the trait's own terms after what has been counted of the same kind: a share follows the
Beta-Binomial, spots the Dirichlet-multinomial, both updated by the counts so far (textbook conjugacy).

After counts a look tells less than a first look: in terms of Polya's urn the counts are balls that are the same whether
the trait holds or not. A chance that draws one of them says nothing, the others fall as in a first look, and there are
no more of them. Counts may tell which option would be the favourite, so of spots this holds for each favourite alone.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import accumulate, repeat
from math import exp, factorial, prod
from operator import add, mul

from tacticapi.domain.trait import Term
from tacticapi.evidence.likelihood import favourite_alphas, log_dirichlet_multinomial, spot_alphas

Mixture = Sequence[tuple[float, Sequence[float]]]
"""Dirichlet distributions over the outcomes of one chance, each with its weight; the weights sum to 1."""


def shares_outlook(term: Term, seen: tuple[float, float], chances: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Chances of 0 to `chances` hits if the trait holds and if not, after so many (hits, chances) seen."""
    hits, misses = seen[0], seen[1] - seen[0]
    holds, fails = (
        beta_binomial(share * term.kappa + hits, (1.0 - share) * term.kappa + misses, chances)
        for share in (term.holds, term.fails)
    )
    return holds, fails


@lru_cache(maxsize=4096)
def beta_binomial(a: float, b: float, chances: int) -> tuple[float, ...]:
    """The chances of 0 to `chances` hits under Beta(a, b), each from the one before.

    >>> [round(p, 3) for p in beta_binomial(8, 4, 5)]
    [0.013, 0.064, 0.165, 0.275, 0.302, 0.181]
    """
    chance = 1.0
    for misses in range(chances):
        chance *= (b + misses) / (a + b + misses)
    result = [chance]
    for hits in range(chances):
        chance *= (chances - hits) * (a + hits) / ((hits + 1) * (b + chances - hits - 1))
        result.append(chance)
    return tuple(result)


@lru_cache(maxsize=1024)
def favourite_outlook(
    share: float, size: float, base: tuple[float, ...], seen: tuple[float, ...], chances: int
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Chances of every spread of `chances` over the options if there is a favourite and if not, after `seen`.

    `share`, `size` and `base` as in `favourite_log_odds`. What was seen also says which option the favourite would be.
    """
    favourites = favourite_alphas(share, size, base)
    logs = [log_dirichlet_multinomial(seen, alphas) for _, alphas in favourites]
    told = [weight * exp(log - max(logs)) for (weight, _), log in zip(favourites, logs, strict=True)]
    holds = [(w / sum(told), _after(alphas, seen)) for w, (_, alphas) in zip(told, favourites, strict=True)]
    fails = [(1.0, _after(spot_alphas(size, base), seen))]
    return predictive(holds, chances), predictive(fails, chances)


def known_favourites(
    share: float, size: float, base: tuple[float, ...], chances: int
) -> list[tuple[tuple[float, ...], tuple[float, ...]]]:
    """As `favourite_outlook` before any counts, for each option as the favourite if there is one."""
    fails = predictive([(1.0, spot_alphas(size, base))], chances)
    return [(predictive([(1.0, alphas)], chances), fails) for _, alphas in favourite_alphas(share, size, base)]


def _after(alphas: Sequence[float], seen: Sequence[float]) -> list[float]:
    return [a + n for a, n in zip(alphas, seen, strict=True)]


def predictive(mixture: Mixture, chances: int) -> tuple[float, ...]:
    """The chance of every way in which so many chances may fall, in the order of `spreads`.

    Dirichlet-multinomial, by rising factorials.

    >>> [round(p, 3) for p in predictive([(1.0, (1.0, 1.0))], 2)]
    [0.333, 0.333, 0.333]
    """
    counts, orders = _columns(len(mixture[0][1]), chances)
    total: Iterable[float] = repeat(0.0)
    for weight, alphas in mixture:
        joint: Iterable[float] = repeat(weight / _rising(sum(alphas), chances)[chances])
        for alpha, column in zip(alphas, counts, strict=True):
            joint = map(mul, joint, map(_rising(alpha, chances).__getitem__, column))
        total = list(map(add, total, joint))
    return tuple(map(mul, total, orders))


@lru_cache(maxsize=64)
def _columns(options: int, chances: int) -> tuple[tuple[tuple[int, ...], ...], tuple[int, ...]]:
    """The spreads turned about: the counts of every option, and the numbers of orders."""
    counts, orders = zip(*spreads(options, chances), strict=True)
    return tuple(zip(*counts, strict=True)), orders


def _rising(x: float, most: int) -> list[float]:
    """x (x+1) ... (x+n-1) for n from 0 to `most`."""
    return list(accumulate(map(x.__add__, range(most)), mul, initial=1.0))


@lru_cache(maxsize=64)
def spreads(options: int, chances: int) -> tuple[tuple[tuple[int, ...], int], ...]:
    """Every way in which so many chances may fall on the options, with the number of its orders.

    With two options the first is counted up from 0, so that place i means i hits.
    """
    return tuple(
        (counts, factorial(chances) // prod(factorial(n) for n in counts)) for counts in _counts(options, chances)
    )


def _counts(options: int, chances: int) -> Iterator[tuple[int, ...]]:
    if options == 1:
        yield (chances,)
        return
    for first in range(chances + 1):
        for rest in _counts(options - 1, chances - first):
            yield (first, *rest)
