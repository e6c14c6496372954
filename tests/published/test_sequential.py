"""Sequential tests and Beta arithmetic against values from outside.

Bounds: A. Wald, Annals of Mathematical Statistics 16 (1945) 117-186 (its existence verified; the bounds are textbook).
NIST/SEMATECH e-Handbook of Statistical Methods 6.2.6 for the sequential plan of .01 against .10 (from memory, and
recomputed). Every other figure was recomputed with a general statistics library, apart from this code.
"""

from math import ceil, log

import pytest

from tacticapi.pricing.baseline import Beta, SequentialTest, chance_below


def line(test: SequentialTest) -> tuple[float, float, float]:
    """Slope, and the intercepts of accepting p0 and p1, in numbers of successes against tries."""
    per_success = test.success - test.failure
    return -test.failure / per_success, test.lower / per_success, test.upper / per_success


@pytest.mark.parametrize(
    ("test", "slope", "accept", "reject"),
    [
        (SequentialTest(0.01, 0.10, 0.05, 0.10), 0.039747, -0.938862, 1.205379),  # NIST 6.2.6: .0397, -.939, 1.205
        (SequentialTest(0.1, 0.3, 0.02, 0.03), 0.186169, -2.582626, 2.875389),  # recomputed
        (SequentialTest(0.6, 0.7, 0.05, 0.05), 0.651111, -6.664148, 6.664148),  # recomputed
    ],
)
def test_the_lines_between_which_one_goes_on_trying(
    test: SequentialTest, slope: float, accept: float, reject: float
) -> None:
    assert line(test) == pytest.approx((slope, accept, reject), abs=1e-6)


@pytest.mark.parametrize(
    ("test", "if_p0", "if_p1"),
    [  # recomputed; Wald's approximation
        (SequentialTest(0.1, 0.3, 0.02, 0.03), 28.70, 23.82),
        (SequentialTest(0.5, 0.7, 0.05, 0.05), 30.40, 32.21),
        (SequentialTest(0.6, 0.7, 0.05, 0.05), 117.3, 122.7),
    ],
)
def test_the_expected_number_of_tries(test: SequentialTest, if_p0: float, if_p1: float) -> None:
    assert test.expected(test.p0) == pytest.approx(if_p0, abs=0.06)
    assert test.expected(test.p1) == pytest.approx(if_p1, abs=0.06)


def test_half_against_seven_in_ten_takes_nine_straight_wins_or_six_straight_losses() -> None:
    test = SequentialTest(0.5, 0.7, 0.05, 0.05)
    assert (test.upper, test.success, test.failure) == pytest.approx((2.944439, 0.336472, -0.510826), abs=1e-6)
    assert test.log_odds(8, 8) < test.upper < test.log_odds(9, 9)
    assert test.log_odds(0, 6) < test.lower < test.log_odds(0, 5)
    assert test.upper == pytest.approx(log(0.95 / 0.05))


def test_beyond_a_bound_no_more_tries_are_needed_and_near_one_few_are() -> None:
    test = SequentialTest(0.5, 0.7, 0.05, 0.05)
    assert test.more(9, 9) == test.more(0, 6) == 0
    assert 0 < test.more(8, 8) < test.more(4, 4) < test.more(0, 0) + 10


@pytest.mark.parametrize("steps", [2, 4, 7])
def test_even_steps_to_bounds_they_hit_exactly_are_gamblers_ruin(steps: int) -> None:
    """W. Feller, An Introduction to Probability Theory, vol. 1, ch. XIV (from memory, recomputed): from z of N the
    game lasts z/(q-p) - N/(q-p) (1 - (q/p)^z) / (1 - (q/p)^N). At .4 against .6 each try is one step of log 1.5; with
    errors of 1/(1 + 1.5^steps) the bounds lie whole steps away, and Wald's approximation is exact.
    """
    error = 1 / (1 + 1.5**steps)
    test = SequentialTest(0.4, 0.6, error, error)

    def lasts(p: float, z: int) -> float:
        odds, drift, n = (1 - p) / p, 1 - 2 * p, 2 * steps
        return z / drift - n / drift * (1 - odds**z) / (1 - odds**n)

    for lead in range(-steps + 1, steps):
        won, tried = max(lead, 0), abs(lead)
        if_p0, if_p1 = (lasts(p, steps + lead) for p in (0.4, 0.6))
        assert test.expected(0.4, test.log_odds(won, tried)) == pytest.approx(if_p0)
        assert test.expected(0.6, test.log_odds(won, tried)) == pytest.approx(if_p1)
        believed = 1.5**lead / (1 + 1.5**lead)
        assert test.more(won, tried) == ceil(believed * if_p1 + (1 - believed) * if_p0)


def test_seven_of_ten_lies_above_four_of_ten_with_chance_445_in_494() -> None:
    """Uniform priors; exact, by the closed Beta sum."""
    assert chance_below(Beta(5, 7), Beta(8, 4)) == pytest.approx(445 / 494, abs=1e-9)
    assert chance_below(Beta(11, 11), Beta(15, 7)) == pytest.approx(0.895920, abs=1e-6)
