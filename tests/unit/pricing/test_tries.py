"""What the tries of a tactic say, and since when they count."""

from math import sqrt
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from tacticapi.domain.rules import Touches
from tacticapi.domain.situation import MAX_TRIED, Tries, summed, tries_since
from tacticapi.pricing.baseline import Baseline, Beta, judged

SURE = 1e9
BASE = Baseline(Beta(0.6 * SURE, 0.4 * SURE), Beta(0.4 * SURE, 0.6 * SURE))


def told(*tries, prior=(0.02, 0.1), touches=Touches.BOTH):
    return judged("a", tries, touches, BASE, prior)


@given(mean=st.floats(-0.05, 0.05), spread=st.floats(0.05, 0.2), tried=st.integers(1, 40), data=st.data())
def test_tries_are_learned_from_as_bayes_says(mean, spread, tried, data):
    """Quadrature over what a try gains, with points won taken as normal."""
    won = data.draw(st.integers(0, tried))
    after = told(Tries("a", tried, won), prior=(mean, spread))
    prior, seen = NormalDist(mean, spread), NormalDist(won / tried - 0.5, sqrt(0.25 / tried))

    def moment(power):
        low, high = mean - 9 * spread, mean + 9 * spread
        return quad(lambda x: x**power * prior.pdf(x) * seen.pdf(x), low, high, points=[after.mean], limit=200)[0]

    total, first, second = (moment(power) for power in range(3))
    assert after.mean == pytest.approx(first / total, abs=1e-6)
    assert after.spread == pytest.approx(sqrt(second / total - (first / total) ** 2), rel=1e-4)


def test_each_try_is_measured_against_the_side_on_which_it_was_made():
    serve, back = told(Tries("a", 10, 6, on="serve")), told(Tries("a", 10, 4, on="return"))
    assert (serve.usual, back.usual) == pytest.approx((0.6, 0.4))
    assert serve.mean == pytest.approx(back.mean)
    both = told(Tries("a", 10, 6, on="serve"), Tries("a", 10, 4, on="return"))
    assert both.usual == pytest.approx(0.5)
    assert [one.touches for one in (serve, back, both)] == [Touches.SERVE, Touches.RETURN, Touches.BOTH]
    assert told(Tries("a", 10, 6), touches=Touches.RETURN).usual == pytest.approx(0.4)


def test_what_is_usual_weighs_more_the_surer_it_is():
    few, many = (Baseline(Beta(n, n), Beta(n, n), points=2 * n) for n in (10, 1000))
    unsure, sure = (judged("a", [Tries("a", 12, 2)], Touches.BOTH, base, (0.0, 0.1)).worse for base in (few, many))
    assert sure > unsure > 0.5


@given(tried=st.integers(1, MAX_TRIED), share=st.floats(0, 1), spread=st.floats(1e-3, 0.5))
def test_a_verdict_is_a_chance_whatever_was_tried(tried, share, spread):
    won = int(share * tried)
    assert 0.0 <= told(Tries("a", tried, won), prior=(0.01, spread)).worse <= 1.0
    assert told(Tries("a", tried, min(tried, won + 1))).worse <= told(Tries("a", tried, won)).worse


def test_tries_count_since_our_switch_and_since_their_last_change():
    early, late, undated = Tries("a", 16, 4, 1, 3), Tries("a", 24, 17, 2, 2), Tries("a", 5, 1)
    every = (early, late, undated)
    assert tries_since(every, None) == every
    assert tries_since(every, None, (2, 1)) == (late, undated)
    assert tries_since(every, (1, 8)) == (late,)  # nobody said when the others were: before the change
    assert tries_since(every, (1, 3), (2, 3)) == ()
    assert summed(every)["a"] == Tries("a", 45, 22)
