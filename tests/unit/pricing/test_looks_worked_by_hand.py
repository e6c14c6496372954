"""Looks whose worth is worked out by hand: in several parts of the game, far from the turning point, seen before."""

from math import log

import pytest

from tacticapi.domain.look import Predictive
from tacticapi.domain.tactic import Touches
from tacticapi.pricing.stakes import LookTable

from .test_looks import KEYS, best_first, look, table

CERTAIN = ((1.0, 0.0), (0.0, 1.0))


def test_a_look_that_serves_two_parts_of_the_game_is_worth_both_together() -> None:
    """At even chances both plays gain nothing now; knowing brings half of 0.04 on serve and half of 0.02 on return."""
    laid_out, gains = table([(Touches.SERVE, [0], 0.04, -0.04), (Touches.RETURN, [0], 0.02, -0.02)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    assert stakes.now == 0.0
    assert stakes.certainty == pytest.approx({0: 0.03})
    assert stakes.worth(0, look(0, *CERTAIN)) == pytest.approx(0.03)
    assert stakes.worth(0, look(0, (0.8, 0.2), (0.2, 0.8))) == pytest.approx(0.8 * 0.03 - 0.2 * 0.03)


def test_a_play_on_two_traits_is_looked_at_through_either() -> None:
    """It pays 0.1 if both hold, with chance 0.5 * 0.4, and costs 0.02 otherwise: 0.004 now.

    Known to hold, the first leaves 0.4 * 0.1 - 0.6 * 0.02 = 0.028, else nothing: 0.5 * 0.028 - 0.004. The second
    leaves 0.5 * 0.1 - 0.5 * 0.02 = 0.04, else nothing: 0.4 * 0.04 - 0.004.
    """
    laid_out, gains = table([(Touches.BOTH, [0, 1], 0.1, -0.02)])
    stakes = laid_out.at_stake(gains, [0.5, 0.4, 0.9])
    assert stakes.now == pytest.approx(0.004)
    assert stakes.certainty == pytest.approx({0: 0.01, 1: 0.012})
    assert best_first([look(0, *CERTAIN), look(1, *CERTAIN)], stakes) == [(0.012, 1)]


def test_the_best_other_play_is_what_a_trait_is_measured_against() -> None:
    """Two plays on serve: 0.5 * 0.05 - 0.5 * 0.01 = 0.02 by the first trait, a sure 0.015 by the second."""
    laid_out, gains = table([(Touches.SERVE, [0], 0.05, -0.01), (Touches.SERVE, [1], 0.015, 0.015)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    assert stakes.now == pytest.approx(0.02)
    assert stakes.worth(0, look(0, *CERTAIN)) == pytest.approx(0.5 * 0.05 + 0.5 * 0.015 - 0.02)
    assert stakes.certainty == pytest.approx({0: 0.0125})


@pytest.mark.parametrize("gain", [(0.001, -0.08), (-0.08, 0.001)])
def test_a_look_is_found_however_much_it_takes_to_change_the_plan(gain: tuple[float, float]) -> None:
    """One play that costs eighty times what it brings asks for evidence of 80 to 1; a certain look is worth 0.0005."""
    laid_out, gains = table([(Touches.SERVE, [0], *gain)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    assert best_first([look(0, *CERTAIN)], stakes, 1e-4) == [(0.0005, 0)]
    assert best_first([look(0, (0.6, 0.4), (0.4, 0.6))], stakes, 1e-6) == []


def test_a_kind_seen_before_may_tell_more_or_less_than_at_first() -> None:
    laid_out, gains = table([(Touches.RETURN, [1], 0.04, -0.04)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    nothing, all_ = look(1, (0.5, 0.5), (0.5, 0.5)), look(1, *CERTAIN)
    for new, again, seen, found in (
        (nothing, all_, ("some.kind",), [(0.02, 0)]),
        (all_, nothing, ("some.kind",), []),
        (nothing, all_, ("other.kind",), []),
        (all_, nothing, (), [(0.02, 0)]),
    ):
        now: Predictive = again if "some.kind" in seen else new
        looks = LookTable([new], [[again]], KEYS)
        assert list(looks.best_first(stakes, seen, (), lambda place, now=now: now, 0.001)) == found


def test_of_looks_worth_the_same_the_first_is_told() -> None:
    laid_out, gains = table([(Touches.SERVE, [0], 0.04, -0.04), (Touches.RETURN, [1], 0.04, -0.04)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    looks = [Predictive(what, *KEYS[k], None, *CERTAIN) for what, k in (("a", 1), ("b", 0), ("c", 0))]
    assert best_first(looks, stakes) == [(0.02, 0), (0.02, 1)]
    assert best_first(looks, stakes, 0.02) == [(0.02, 0), (0.02, 1)]
    assert best_first(looks, stakes, 0.021) == []


def test_a_play_that_cannot_lose_leaves_little_to_learn() -> None:
    """At even chances 0.5 * 0.04 for certain, or 0.5 * 0.05 - 0.5 * 0.03: knowing brings 0.025 for 0.02."""
    laid_out, gains = table([(Touches.SERVE, [0], 0.04, 0.0), (Touches.SERVE, [0], 0.05, -0.03)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    assert best_first([look(0, *CERTAIN)], stakes) == [(0.005, 0)]
    laid_out, gains = table([(Touches.SERVE, [0], 0.04, 0.0), (Touches.SERVE, [0], 0.05, -0.2)])
    assert laid_out.at_stake(gains, [0.5, 0.5, 0.5]).needed(0) == 0.0


def test_what_is_known_need_not_be_among_the_looks() -> None:
    laid_out, gains = table([(Touches.SERVE, [0], 0.04, -0.04)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    sure = look(0, *CERTAIN)
    looks = LookTable([sure], [[sure]], KEYS)
    assert list(looks.best_first(stakes, (), ("no.such.look",), lambda _: sure, 0.001)) == [(0.02, 0)]
    assert list(looks.best_first(stakes, (), ("some.kind",), lambda _: sure, 0.001)) == []


def test_two_plays_on_one_trait_pay_one_if_it_holds_and_one_if_not() -> None:
    """At even chances 0.02 by the first, 0.005 by the second; knowing brings 0.025 + 0.015."""
    laid_out, gains = table([(Touches.SERVE, [0], 0.05, -0.01), (Touches.SERVE, [0], -0.02, 0.03)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    assert stakes.now == pytest.approx(0.02)
    assert stakes.worth(0, look(0, *CERTAIN)) == pytest.approx(0.02)
    assert stakes.needed(0) == 0.0


@pytest.mark.parametrize(
    ("serve", "return_", "ratio"),
    [
        ((0.04, -0.08), (0.02, -0.08), 2.0),
        ((0.02, -0.08), (0.04, -0.08), 2.0),
        ((-0.08, 0.04), (-0.08, 0.02), 0.5),
        ((-0.08, 0.02), (-0.08, 0.04), 0.5),
        ((0.04, -0.08), (-0.08, 0.02), 1.0),
        ((0.08, -0.04), (-0.08, 0.02), 1.0),
        ((0.02, -0.08), (-0.02, 0.04), 1.0),
    ],
)
def test_the_plan_first_changes_where_the_readiest_play_breaks_even(
    serve: tuple[float, float], return_: tuple[float, float], ratio: float
) -> None:
    """At even chances a play that costs 0.08 for 0.04 pays once the odds are 2 to 1, one for 0.02 at 4 to 1.

    Where one pays if the trait holds and one if it fails, it is left open.
    """
    laid_out, gains = table([(Touches.SERVE, [0], *serve), (Touches.RETURN, [0], *return_)])
    assert laid_out.at_stake(gains, [0.5, 0.5, 0.5]).needed(0) == pytest.approx(log(ratio))
