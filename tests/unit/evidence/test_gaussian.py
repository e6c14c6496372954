"""The posterior against brute force: quadrature, scipy's optimiser and scipy's normals."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize
from scipy.special import expit
from scipy.stats import multivariate_normal, norm

from tacticapi.evidence.gaussian import Rows, both_inside, centre, inside, mean_share, posterior

spreads = st.floats(0.05, 2.0)
shares = st.floats(0.01, 0.99)


def rows(loads, hits, chances, mu=-0.5, own=0.04):
    """Counts where there are chances, else readings with a variance of 1."""
    n = len(hits)
    return Rows(loads, np.full(n, mu), np.full(n, own), hits, chances, np.ones(n), np.zeros((n, 0)))


@given(share=shares, spread=spreads)
def test_the_mean_share_over_players_is_the_usual_one(share, spread):
    mu = centre(share, spread)
    by_quadrature, _ = quad(lambda z: expit(mu + spread * z) * norm.pdf(z), -9, 9)
    assert mean_share(mu, spread) == pytest.approx(share, abs=1e-9)
    assert by_quadrature == pytest.approx(share, abs=2e-4)


def test_the_mode_is_where_scipys_optimiser_finds_it():
    rng = np.random.default_rng(3)
    loads = rng.normal(0, 0.6, (6, 4))
    hits, chances = np.array([4.0, 0.0, 19.0, 1.0, 1.3, -0.7]), np.array([20.0, 11.0, 20.0, 3.0, 0.0, 0.0])
    given_rows = rows(loads, hits, chances)

    def less_likely(point):
        x, offsets = point[:4], point[4:]
        latent = given_rows.mu + loads @ x + 0.2 * offsets
        counted = chances > 0
        p = expit(latent)
        counts = hits[counted] * np.log(p[counted]) + (chances - hits)[counted] * np.log1p(-p[counted])
        readings = (hits - latent)[~counted] ** 2 / 2
        return float(readings.sum() - counts.sum() + point @ point / 2)

    best = minimize(less_likely, np.zeros(10), method="BFGS", options={"gtol": 1e-9})
    found = posterior(given_rows)
    means, _, _ = found.of(np.eye(4))
    assert means == pytest.approx(best.x[:4], abs=1e-5)


@given(hits=st.integers(0, 200), misses=st.integers(0, 200), mu=st.floats(-6, 6), spread=st.floats(0.1, 3))
@example(hits=400, misses=0, mu=-9.0, spread=2.0)  # rare events do not make Newton's method diverge
def test_any_count_has_a_posterior(hits, misses, mu, spread):
    found = posterior(rows(np.array([[spread]]), np.array([float(hits)]), np.array([float(hits + misses) or 1.0]), mu))
    mean, variance, _ = found.of(np.array([[1.0]]))
    assert np.isfinite(mean).all()
    assert 0 < variance[0] <= 1
    assert hits < 400 or 3 < mean[0] < 8


def test_leaving_a_reading_out_is_as_if_it_had_never_been_posted():
    rng = np.random.default_rng(5)
    loads, read, none = rng.normal(0, 1, (5, 3)), rng.normal(0, 1, 5), np.zeros(5)
    sums = rng.normal(0, 1, (2, 3))
    whole = posterior(rows(loads, read, none))
    means, variances = whole.without(*whole.of(sums))
    for row in range(5):
        rest = [n for n in range(5) if n != row]
        mean, variance, _ = posterior(rows(loads[rest], read[rest], none[rest])).of(sums)
        assert means[:, row] == pytest.approx(mean)
        assert variances[:, row] == pytest.approx(variance)


@given(m=st.floats(-3, 3), s=st.floats(0.1, 2), low=st.floats(-3, 3), width=st.floats(0, 3))
def test_the_chance_between_two_marks_is_scipys(m, s, low, width):
    found = inside(*(np.array([x]) for x in (m, s, low, low + width)))
    assert found[0] == pytest.approx(norm.cdf(low + width, m, s) - norm.cdf(low, m, s), abs=1e-12)


@pytest.mark.parametrize("correlation", [-0.9, -0.3, 0.0, 0.5, 0.95])
def test_the_chance_of_two_regions_is_scipys_bivariate_normal(correlation):
    s1, s2, covariance = 0.8, 1.3, correlation * 0.8 * 1.3
    infinite = np.array([-np.inf])
    first = (np.array([0.2]), np.array([s1]), infinite, np.array([0.1]))
    second = (np.array([-0.4]), np.array([s2]), infinite, np.array([0.3]))
    expected = multivariate_normal([0.2, -0.4], [[s1**2, covariance], [covariance, s2**2]]).cdf([0.1, 0.3])
    assert both_inside(first, second, np.array([covariance]))[0] == pytest.approx(expected, abs=2e-4)
