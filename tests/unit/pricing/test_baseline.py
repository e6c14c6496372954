"""Points won on serve and on return, with a tactic and without it."""

import pytest

from tacticapi.domain.rules import Touches
from tacticapi.domain.situation import Moment, PointsPlayed, Situation
from tacticapi.pricing.baseline import baseline

LEVELS = {
    "much-weaker": (0.66, 0.50),
    "weaker": (0.62, 0.46),
    "level": (0.58, 0.42),
    "stronger": (0.54, 0.38),
    "much-stronger": (0.50, 0.34),
}


@pytest.mark.parametrize(("level", "means"), [*LEVELS.items(), (None, LEVELS["level"])])
def test_the_opponents_level_sets_the_shares_until_points_are_played(rulebook, level, means):
    base = baseline(Situation(Moment.BEFORE_MATCH, context={"level_gap": level}), rulebook.defaults)
    assert (base.serve.mean, base.return_.mean) == pytest.approx(means)
    assert base.serve.a + base.serve.b == pytest.approx(20)


def test_the_tries_are_taken_out_of_what_is_usual_on_the_side_on_which_they_were_made(rulebook):
    played = PointsPlayed(serve_won=11, serve_of=20, return_won=7, return_of=19)
    base = baseline(Situation(Moment.SET_BREAK, points_played=played), rulebook.defaults)
    without = base.without(Touches.SERVE, 8, 2)
    assert (without.a, without.b) == pytest.approx((base.serve.a - 2, base.serve.b - 6))
    both = base.without(Touches.BOTH, 8, 2)
    assert both.a + both.b == pytest.approx(40 + 39 - 8)
    unposted = baseline(Situation(Moment.SET_BREAK), rulebook.defaults)  # they were not among these points
    assert unposted.without(Touches.SERVE, 8, 2) == unposted.serve
