"""The profile against figures of professional play, and its arithmetic against scipy.

Source of the figures: J. Sackmann, open tennis match data (public repository, CC BY-NC-SA 4.0), summary files of
charted matches, aggregated over player-matches in November 2026 (women's singles; men's where the name says so): mean,
standard deviation between player-matches with binomial noise removed, and the Beta prior size (kappa) that fits.
Rounded figures of the same source stand in rules/ for the level tour; the men's test the same code with their own.
"""

from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import expit
from scipy.stats import beta, dirichlet, norm

from tacticapi.domain.rules import Level
from tacticapi.evidence.gaussian import Rows, centre, mean_share, posterior
from tacticapi.evidence.spots import Cell


class Figure(NamedTuple):
    """Mean share, standard deviation between players, and kappa."""

    mean: float
    sd: float
    kappa: float


CHECKED = {
    "first_serve_in": ("serve.first_serves_in", Figure(0.6268, 0.05595, 73.73)),
    "first_serve_won": ("serve.first_serve_points_won", Figure(0.6397, 0.07446, 40.57)),
    "second_serve_won": ("serve.second_serve_points_won", Figure(0.4538, 0.04733, 109.6)),
    "double_fault": ("serve.double_faults", Figure(0.1317, 0.05129, 42.46)),
    "unreturned_first": ("serve.unreturned_serves", Figure(0.2729, 0.09578, 20.63)),
    "unreturned_second": ("serve.unreturned_serves", Figure(0.1745, 0.05128, 53.77)),
    "net_points_won_2010_on": ("record.net_points_won", Figure(0.6774, 0.0518, 80.44)),
}
OTHERS = {
    "ace": Figure(0.042, 0.03284, 36.32),
    "approach_won_2010_on": Figure(0.6541, 0.05686, 68.97),
    "slice_share_of_backhand_2010_on": Figure(0.1393, 0.1176, 7.674),
    "men_unreturned_first": Figure(0.3694, 0.1126, 17.37),
    "men_unreturned_second": Figure(0.1751, 0.05945, 39.87),
}
WEIGHTS = {
    "ue_per_forehand": ("rally.forehand_errors", Figure(0.1489, 0.05063, 48.44)),
    "ue_per_backhand": ("rally.backhand_errors", Figure(0.1402, 0.05064, 46.01)),
}


def measured(rulebook, what, name):
    serve = "second" if name.endswith("second") else "first"
    lines = [one for one in rulebook.kinds[what].measures if one.usual and not one.options]
    return next(one for one in lines if one.serve in (None, serve))


def spread_at_tour(evidence, measure):
    loads = evidence.profiles.latents[Level.TOUR].vector(measure.loads, None)
    return float(np.sqrt(loads @ loads))


def logit_normal(mean, sd):
    """The centre and spread of the logit-normal with this mean and standard deviation, by root finding."""

    def deviation(spread):
        mu = centre(mean, spread)
        second, _ = quad(lambda z: expit(mu + spread * z) ** 2 * norm.pdf(z), -9, 9)
        return float(np.sqrt(max(second - mean * mean, 0.0))) - sd

    spread = float(brentq(deviation, 0.01, 4.0))
    return centre(mean, spread), spread


@pytest.mark.parametrize("name", CHECKED)
def test_players_at_tour_level_have_the_mean_and_spread_of_professional_play(name, rulebook, evidence):
    what, figure = CHECKED[name]
    measure = measured(rulebook, what, name)
    spread = spread_at_tour(evidence, measure)
    mu = centre(measure.usual[Level.TOUR], spread)
    second, _ = quad(lambda z: expit(mu + spread * z) ** 2 * norm.pdf(z), -9, 9)
    mean = mean_share(mu, spread)
    assert mean == pytest.approx(figure.mean, abs=0.006)
    assert np.sqrt(second - mean * mean) == pytest.approx(figure.sd, rel=0.06)


def weight(mu, spread, share, chances):
    """The slope of the estimated share in the observed one, at the usual share."""

    def estimate(observed):
        rows = Rows(
            np.array([[spread]]), np.array([mu]), np.zeros(1), np.array([observed * chances]),
            np.array([float(chances)]), np.ones(1), np.zeros((1, 0)),
        )  # fmt: skip
        mean, variance, _ = posterior(rows).of(np.array([[spread]]))
        return mean_share(mu + float(mean[0]), float(np.sqrt(variance[0])))

    step = 0.01
    return (estimate(share + step) - estimate(share - step)) / (2 * step)


@pytest.mark.parametrize("chances", [10, 20, 40])
@pytest.mark.parametrize("name", [*CHECKED, *WEIGHTS])
def test_so_many_chances_weigh_what_they_do_in_professional_play(name, chances, rulebook, evidence):
    what, figure = {**CHECKED, **WEIGHTS}[name]
    measure = measured(rulebook, what, name)
    usual, spread = measure.usual[Level.TOUR], spread_at_tour(evidence, measure)
    found = weight(centre(usual, spread), spread, usual, chances)
    assert found == pytest.approx(chances / (chances + figure.kappa), rel=0.2)


@pytest.mark.parametrize("chances", [10, 20, 40])
@pytest.mark.parametrize("name", OTHERS)
def test_the_same_arithmetic_weighs_what_no_kind_counts_yet(name, chances):
    """Aces, approaches, slices and the men's serves, by their own mean and spread."""
    figure = OTHERS[name]
    mu, spread = logit_normal(figure.mean, figure.sd)
    assert mean_share(mu, spread) == pytest.approx(figure.mean, abs=1e-6)
    found = weight(mu, spread, figure.mean, chances)
    assert found == pytest.approx(chances / (chances + figure.kappa), rel=0.2)


def test_serves_are_seldom_followed_in_and_nobody_double_faults_more_at_break_points(rulebook, evidence):
    """Serve and volley: half a per cent of service points; players' double faults at break points do not differ."""
    followed = measured(rulebook, "serve.followed_to_net", "first")
    assert followed.usual[Level.TOUR] == pytest.approx(0.005, abs=0.001)
    latent = evidence.profiles.latents[Level.TOUR]
    assert latent.spreads[latent.place["tight_second", None]] <= 0.05


def test_professionals_err_a_little_more_on_the_forehand(rulebook):
    """0.149 of forehands and 0.140 of backhands are unforced errors."""
    forehand, backhand = (
        measured(rulebook, f"rally.{wing}_errors", "first").usual[Level.TOUR] for wing in ("forehand", "backhand")
    )
    assert forehand == pytest.approx(0.149, abs=0.002)
    assert backhand == pytest.approx(0.140, abs=0.002)


SPOTS = {
    ("first", "deuce"): ((0.427, 0.237, 0.336), 10.9, 0.469),
    ("first", "ad"): ((0.403, 0.214, 0.383), 9.94, 0.506),
    ("second", "deuce"): ((0.254, 0.485, 0.261), 4.76, 0.706),
    ("second", "ad"): ((0.368, 0.430, 0.202), 5.54, 0.667),
}


@pytest.mark.parametrize(("serve", "court"), SPOTS)
def test_half_of_the_servers_have_a_favourite_spot_as_in_professional_play(serve, court, rulebook):
    """Dirichlet fits of serve spots: shares, total, and the share of servers with one spot above a half."""
    shares, total, favourites = SPOTS[serve, court]
    figures = rulebook.defaults["profile"]["spots"]
    ours = figures["usual"][serve][court]
    assert ours == pytest.approx(shares, abs=0.01)
    assert figures["totals"][serve] == pytest.approx(total, rel=0.12)
    cell = Cell(court, serve, tuple(total * share for share in shares), ())
    assert cell.favourite(0.5) == pytest.approx(favourites, abs=0.02)


@given(alphas=st.lists(st.floats(0.5, 40), min_size=3, max_size=3), share=st.floats(0.5, 0.9))
def test_a_favourite_spot_is_as_likely_as_scipys_beta_says(alphas, share):
    total = sum(alphas)
    expected = sum(beta.sf(share, a, total - a) for a in alphas)
    assert Cell(None, "first", tuple(alphas), ()).favourite(share) == pytest.approx(expected, abs=1e-9)


def test_a_favourite_spot_is_as_likely_as_draws_from_scipys_dirichlet():
    alphas = (9.0, 2.0, 4.0)
    draws = dirichlet(alphas).rvs(40_000, random_state=7)
    assert Cell(None, "first", alphas, ()).favourite(0.5) == pytest.approx((draws.max(axis=1) >= 0.5).mean(), abs=0.01)


def test_one_count_by_quadrature(evidence, rulebook, situation):
    """One count at level tour, exactly, by integrating over the quality: the Gaussian posterior is close to it."""
    measure = measured(rulebook, "serve.first_serves_in", "first")
    spread = spread_at_tour(evidence, measure)
    mu = centre(measure.usual[Level.TOUR], spread)

    def weighed(z, power):
        p = float(expit(mu + spread * z))
        return p**power * p**9 * (1 - p) ** 21 * float(norm.pdf(z)) * 1e9

    expected = quad(weighed, -8, 8, args=(1,))[0] / quad(weighed, -8, 8, args=(0,))[0]
    seen = [{"what": "serve.first_serves_in", "count": 9, "of": 30}]
    beliefs = evidence.believe(situation(opponent={"level": "tour"}, observations=seen))
    found = next(one for one in evidence.profile(beliefs) if one.what == "serve.first_serves_in")
    assert found.estimate == pytest.approx(expected, abs=0.004)
