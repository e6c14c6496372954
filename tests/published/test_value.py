"""Value against outside references: textbook Beta posteriors, and the expected hold.

The figures were recomputed (exact fractions, or closed form and quadrature in agreement) before they were written here.
"""

import pytest
from scipy.stats import beta as beta_law

from tacticapi.domain.situation import Moment, PointsPlayed, Situation
from tacticapi.pricing.baseline import Beta, baseline, chance_below
from tacticapi.scoring.formats import Format
from tacticapi.scoring.games_and_sets import game_chance
from tacticapi.scoring.posterior import expected
from tacticapi.scoring.score import State


def test_seven_of_ten_against_four_of_ten() -> None:
    """P(pA > pB) under flat priors = 445/494 (closed form; recomputed, exact)."""
    assert chance_below(Beta(5, 7), Beta(8, 4)) == pytest.approx(445 / 494, abs=1e-12)


def test_fourteen_of_twenty_against_ten_of_twenty() -> None:
    """P(pA > pB) under flat priors = 0.895920 (recomputed; closed form equals quadrature)."""
    assert chance_below(Beta(11, 11), Beta(15, 7)) == pytest.approx(0.895920, abs=5e-7)


@pytest.mark.parametrize(("share", "chance"), [(0.5, 227 / 256), (0.6, 0.703716)])
def test_seven_of_ten_against_a_share_that_is_known(share: float, chance: float) -> None:
    """Beta(8, 4): P(p > 0.5) = 227/256 (exact), P(p > 0.6) = 0.703716 (recomputed)."""
    known = Beta(share * 1e9, (1 - share) * 1e9)
    assert chance_below(known, Beta(8, 4)) == pytest.approx(chance, abs=1e-6)


def test_a_flat_prior_and_seven_of_ten_have_mean_two_thirds() -> None:
    """Textbook, recomputed."""
    assert Beta(8, 4).mean == pytest.approx(2 / 3)


def test_points_played_shrink_towards_what_the_level_says() -> None:
    """Beta(64, 36) and 18 of 24: mean 82/124, 95 % (0.576030, 0.741622); a raw 75 % shrinks to 66 % (recomputed)."""
    prior = {"points": 100, "serve": {"level": 0.64}, "return": {"level": 0.36}}
    asked = Situation(Moment.SET_BREAK, points_played=PointsPlayed(serve_won=18, serve_of=24))
    serve = baseline(asked, {"baseline": prior}).serve
    assert serve.mean == pytest.approx(82 / 124)
    assert beta_law(serve.a, serve.b).interval(0.95) == pytest.approx((0.576030, 0.741622), abs=5e-7)


def test_the_expected_hold_is_below_the_hold_at_the_mean() -> None:
    """Beta(37, 23) on serve: 0.7546 expected against 0.7694 at the mean 37/60 (recomputed)."""
    start = State(Format(), server="own")
    assert expected(Format(), start, (37, 23), (20, 30)).game.now == pytest.approx(0.7546, abs=5e-5)
    assert game_chance(37 / 60) == pytest.approx(0.7694, abs=5e-5)
