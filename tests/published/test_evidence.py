"""Evidence against outside references: scipy's distributions, and closed forms of textbooks.

The figures were recomputed (exact fractions, or closed form and quadrature in agreement) before they were written here;
where a publication is named, how it is known is said beside it.
"""

from math import comb, exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import betabinom, dirichlet_multinomial

from tacticapi.evidence.likelihood import (
    favourite_log_odds,
    log_beta_binomial,
    log_dirichlet_multinomial,
    share_log_odds,
)
from tacticapi.evidence.next_observation import predictive

BASE = (0.35, 0.30, 0.35)
shares = st.floats(0.05, 0.95)


@given(chances=st.integers(0, 60), data=st.data(), share=shares, size=st.floats(2, 60))
def test_a_count_is_as_likely_as_scipys_beta_binomial_says(
    chances: int, data: st.DataObject, share: float, size: float
) -> None:
    hits = data.draw(st.integers(0, chances))
    expected = betabinom.logpmf(hits, chances, share * size, (1 - share) * size)
    assert log_beta_binomial(hits, chances, share, size) + log(comb(chances, hits)) == pytest.approx(expected, abs=1e-8)


@given(chances=st.integers(0, 60), data=st.data(), holds=shares, fails=shares, size=st.floats(2, 60))
def test_the_weight_of_a_count_is_the_ratio_of_two_of_scipys(
    chances: int, data: st.DataObject, holds: float, fails: float, size: float
) -> None:
    hits = data.draw(st.integers(0, chances))
    with_it, without = (betabinom.logpmf(hits, chances, m * size, (1 - m) * size) for m in (holds, fails))
    assert share_log_odds(hits, chances, holds, fails, size) == pytest.approx(with_it - without, abs=1e-8)


spreads = st.lists(st.integers(0, 20), min_size=3, max_size=3)


@given(counts=spreads, alphas=st.lists(st.floats(0.2, 12), min_size=3, max_size=3))
def test_a_spread_over_spots_is_as_likely_as_scipys_dirichlet_multinomial_says(
    counts: list[int], alphas: list[float]
) -> None:
    expected = dirichlet_multinomial.logpmf(counts, alphas, sum(counts))
    orders = comb(sum(counts), counts[0]) * comb(counts[1] + counts[2], counts[1])
    assert log_dirichlet_multinomial(counts, alphas) + log(orders) == pytest.approx(expected, abs=1e-8)


@given(counts=spreads, share=st.floats(0.4, 0.8), size=st.floats(6, 30))
def test_a_favourite_spot_is_a_mixture_of_scipys_over_which_spot_it_is(
    counts: list[int], share: float, size: float
) -> None:
    n = sum(counts)
    plain = dirichlet_multinomial.pmf(counts, [size * b for b in BASE], n)
    mixture = 0.0
    for spot, weight in enumerate(BASE):
        alphas = [size * (share if i == spot else (1 - share) * b / (1 - weight)) for i, b in enumerate(BASE)]
        mixture += weight * dirichlet_multinomial.pmf(counts, alphas, n)
    assert favourite_log_odds(counts, share, size, BASE) == pytest.approx(log(mixture / plain), abs=1e-8)


def test_five_chances_after_seven_of_ten_fall_as_the_textbook_says() -> None:
    """Beta-binomial, n = 5, Beta(8, 4): recomputed."""
    expected = (0.012821, 0.064103, 0.164835, 0.274725, 0.302198, 0.181319)
    assert predictive([(1.0, (8.0, 4.0))], 5) == pytest.approx(expected, abs=5e-7)
    told = [comb(5, k) * exp(log_beta_binomial(k, 5, 8 / 12, 12)) for k in range(6)]
    assert told == pytest.approx(expected, abs=5e-7)


@pytest.mark.parametrize("counts", [(0, 4), (2, 2), (4, 0), (3, 5)])
def test_a_flat_prior_makes_every_number_of_hits_equally_likely(counts: tuple[int, int]) -> None:
    """Laplace's rule of succession (textbook): under Beta(1, 1) each of the n + 1 outcomes has chance 1 / (n + 1)."""
    n = sum(counts)
    assert comb(n, counts[0]) * exp(log_beta_binomial(counts[0], n, 0.5, 2)) == pytest.approx(1 / (n + 1))
