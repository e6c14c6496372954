"""Shares of the best gain, harm, Brier scores and calibration: each finds what was put in."""

import numpy as np
import pytest

from tests.rehearsal.measures import calibration_error, claimed, honest, reached
from tests.rehearsal.outcome import AtStage, Believed, Held, Line, Reach, Rehearsed, Stage
from tests.rehearsal.world.tactics import Chosen

RNG = np.random.default_rng(1)
WEAKER = Believed("backhand_weaker", "backhand", 0.6, 0.9, True)


def held(match_true: float, pays_in: float | None = None) -> Held:
    return Held(Line(Chosen("work-weaker-wing"), 0.004, -0.01, 0.02, pays_in), match_true / 5, match_true)


def one(advised: float, believed: tuple[Believed, ...] = (), claims: tuple[Held, ...] = ()) -> Rehearsed:
    reach = Reach(plain=0.50, advised=advised, free=0.505, old=0.504, best=0.52, held=claims)
    return Rehearsed("home", 0, dict.fromkeys(Stage, AtStage(believed, WEAKER, reach)))


def test_half_of_the_best_gain_is_half_and_its_interval_is_narrow():
    found = reached([one(0.51 + 0.002 * x) for x in RNG.standard_normal(400)], Stage.SET, RNG)
    assert found.advised.captured == pytest.approx(0.5, abs=0.02)
    assert 0.005 < found.half_width < 0.025
    assert (found.free.captured, found.old.captured) == pytest.approx((0.25, 0.2))


def test_harm_is_counted_from_two_points_in_a_thousand():
    assert reached([one(0.499), one(0.4985), one(0.4979), one(0.51)], Stage.SET, RNG).advised.harm == 0.25


def test_brier_scores_are_those_of_strokes_and_of_the_weaker_wing():
    believed = (
        Believed("weak_forehand", "forehand", 0.3, 0.8, True),
        Believed("weak_low_ball", "backhand", 0.5, 0.4, False),
        Believed("big_first_serve", None, 0.5, 0.0, True),
    )
    found = honest([one(0.5, believed)], Stage.SET)
    assert found.strokes.brier == pytest.approx((0.2**2 + 0.4**2) / 2)
    assert found.strokes.prior == pytest.approx((0.7**2 + 0.5**2) / 2)
    assert found.strokes.error == pytest.approx((0.2 + 0.4) / 2)
    assert (found.wing_gap.brier, found.wing_gap.prior) == pytest.approx((0.1**2, 0.4**2))
    assert found.wing_gap.error == pytest.approx(0.1)


def test_honest_probabilities_have_next_to_no_calibration_error_and_bold_ones_have_much():
    said = RNG.uniform(0.05, 0.95, 20_000)
    true = RNG.uniform(size=said.size) < said
    assert calibration_error(zip(said, true, strict=True)) < 0.015
    assert calibration_error(zip(np.where(said > 0.5, 0.99, 0.01), true, strict=True)) > 0.15


def test_gain_intervals_are_held_against_true_gains_in_match_chance():
    found = reached([one(0.5, claims=(held(0.00), held(0.03), held(0.01), held(-0.02)))], Stage.SET, RNG)
    assert found.coverage == 0.5


def test_of_tactics_said_to_pay_in_7_of_10_those_that_truly_gain_are_counted():
    claims = (held(0.01, 0.66), held(0.02, 0.74), held(0.01, 0.72), held(-0.02, 0.72), held(-0.01, 0.95), held(0.01))
    seven, sixties, seventies, nineties = claimed([one(0.5, claims=claims)])
    assert (seven.low, seven.high, seven.number) == (0.65, 0.75, 4 * len(Stage))
    assert (seven.claimed, seven.gained) == pytest.approx((0.71, 0.75))
    assert (sixties.gained, seventies.gained, nineties.gained) == pytest.approx((1.0, 2 / 3, 0.0))
    assert claimed([one(0.5)]) == ()


def test_a_chance_to_pay_of_one_is_counted():
    assert sum(found.number for found in claimed([one(0.5, claims=(held(0.01, 1.0),))])) == len(Stage)
