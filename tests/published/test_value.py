"""Value against outside references: textbook Beta posteriors, and the expected hold.

The figures were recomputed (exact fractions, or closed form and quadrature in agreement) before they were written here.
"""

import pytest
from scipy.stats import beta as beta_law
from scipy.stats import norm as normal_law

from tacticapi.domain.rules import Touches
from tacticapi.domain.situation import Moment, PointsPlayed, Situation, Tries
from tacticapi.pricing.baseline import Baseline, Beta, baseline, judged
from tacticapi.scoring.formats import Format
from tacticapi.scoring.games_and_sets import game_chance
from tacticapi.scoring.match import expected
from tacticapi.scoring.score import State


def test_tries_are_read_as_the_textbook_reads_a_normal_mean():
    """Normal by normal: precisions add, means are weighed by them (A. Gelman et al., Bayesian Data Analysis, 3rd ed.,
    2013, section 2.5; from memory, recomputed). Prior 0.02 +- 0.1 a point, 6 of 16 won where 0.5 +- 0 are usual.
    """
    base = Baseline(Beta(5e8, 5e8), Beta(5e8, 5e8))
    told = judged("a", [Tries("a", 16, 6)], Touches.BOTH, base, (0.02, 0.1))
    mean = (100 * 0.02 + 64 * (6 / 16 - 0.5)) / 164  # precisions 1 / 0.1^2 and 16 / 0.25
    assert (told.mean, told.spread) == pytest.approx((mean, 164**-0.5), abs=1e-6)
    assert told.worse == pytest.approx(normal_law.cdf(-mean * 164**0.5), abs=1e-6)


def test_points_played_shrink_towards_what_the_level_says():
    """Beta(64, 36) and 18 of 24: mean 82/124, 95 % (0.576030, 0.741622); a raw 75 % shrinks to 66 % (recomputed)."""
    prior = {"points": 100, "serve": {"level": 0.64}, "return": {"level": 0.36}}
    asked = Situation(Moment.SET_BREAK, points_played=PointsPlayed(serve_won=18, serve_of=24))
    serve = baseline(asked, {"baseline": prior}).serve
    assert serve.mean == pytest.approx(82 / 124)
    assert beta_law(serve.a, serve.b).interval(0.95) == pytest.approx((0.576030, 0.741622), abs=5e-7)


def test_the_expected_hold_is_below_the_hold_at_the_mean():
    """Beta(37, 23) on serve: 0.7546 expected against 0.7694 at the mean 37/60 (recomputed)."""
    start = State(Format(), server="own")
    assert expected(Format(), start, (37, 23), (20, 30)).game.now == pytest.approx(0.7546, abs=5e-5)
    assert game_chance(37 / 60) == pytest.approx(0.7694, abs=5e-5)
