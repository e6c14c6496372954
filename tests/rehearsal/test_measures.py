"""Shares of the best gain, harm, calibration, and defaults fitted: each finds what was put in."""

import numpy as np
import pytest

from tacticapi.rulebook.load import load
from tests.rehearsal.fit import fitted_shares, fitted_strength
from tests.rehearsal.measures import brier, calibration_error, honest, reached, reliability, tactic_records
from tests.rehearsal.outcome import AtStage, Believed, ByPrice, Rehearsed, Stage, Suggested

RNG = np.random.default_rng(1)


def suggested(true_match: float, low: float, high: float) -> Suggested:
    return Suggested("work-weaker-wing", 1, (), 0.004, 0.003, True, low, high, true_match)


def one(
    advised: float, best: float = 0.52, believed: tuple[Believed, ...] = (), gains: tuple[Suggested, ...] = ()
) -> Rehearsed:
    at = AtStage(0.50, advised, 0.50, best, gains, believed, ByPrice(0.50, 0.51, 0.52))
    return Rehearsed(0, dict.fromkeys(Stage, at))


def test_half_of_the_best_gain_is_half_and_the_interval_holds_it():
    found = reached([one(0.51 + 0.002 * x) for x in RNG.standard_normal(400)], Stage.SET, RNG)
    assert found.advised.value == pytest.approx(0.5, abs=0.02)
    assert found.advised.low < 0.5 < found.advised.high
    assert found.advised.high - found.advised.low < 0.05


def test_prices_alone_are_held_against_the_best_too():
    found = reached([one(0.51)] * 3, Stage.SET, RNG).by_price
    assert (found.beliefs, found.truths, found.singles) == pytest.approx((0.0, 0.5, 1.0))


def test_harm_is_counted_from_two_points_in_a_thousand():
    found = reached([one(0.499), one(0.4985), one(0.4979), one(0.51)], Stage.SET, RNG)
    assert found.harm.value == 0.25


def test_honest_probabilities_have_next_to_no_calibration_error_and_bold_ones_have_much():
    said = RNG.uniform(0.05, 0.95, 20_000)
    true = (RNG.uniform(size=said.size) < said).astype(float)
    bold = np.where(said > 0.5, 0.99, 0.01)
    assert calibration_error(reliability(said, true)) < 0.015
    assert calibration_error(reliability(bold, true)) > 0.15
    assert brier(said, true) < brier(bold, true)


def test_coverage_is_the_share_of_intervals_that_hold_the_true_gain():
    gains = (
        suggested(0.00, -0.01, 0.02),
        suggested(0.03, -0.01, 0.02),
        suggested(0.01, -0.01, 0.02),
        suggested(-0.02, -0.01, 0.02),
    )
    believed = (Believed("weak_forehand", "forehand", 0.3, 0.3, False),)
    assert honest([one(0.5, believed=believed, gains=gains)], Stage.SET).coverage == 0.5


def test_a_tactic_s_record_holds_what_it_claimed_and_what_it_was_worth():
    records = tactic_records([one(0.5, gains=(suggested(0, -1, 1),))] * 3, Stage.SET)
    assert [(r.tactic, r.times, r.claimed, r.true) for r in records] == [
        ("work-weaker-wing", 3, pytest.approx(0.004), pytest.approx(0.003))
    ]


def test_evidence_that_is_half_as_strong_as_it_should_be_is_found_out():
    log_odds = RNG.normal(0.0, 1.0, 4000)
    said, should = (1 / (1 + np.exp(-factor * log_odds)) for factor in (1.0, 2.0))
    believed = [
        Believed("weak_forehand", "forehand", 0.5, p, bool(RNG.uniform() < q))
        for p, q in zip(said, should, strict=True)
    ]
    found = fitted_strength([one(0.5, believed=tuple(believed))], Stage.SET)
    assert found.factor == pytest.approx(2.0, abs=0.25)


def test_shares_of_a_counted_observation_are_found_from_those_who_have_the_trait_and_those_who_have_not():
    met = []
    for holds in [True, False] * 200:
        believed = (Believed("weak_low_ball", "backhand", 0.4, 0.4, holds),)
        count = int(RNG.binomial(10, 0.45 if holds else 0.70))
        at = AtStage(0.5, 0.5, 0.5, 0.52, (), believed, ByPrice(0.5, 0.5, 0.5))
        met.append(Rehearsed(0, dict.fromkeys(Stage, at), (("rally.against_low_ball", "backhand", None, count, 10),)))
    found = fitted_shares(met, load())
    assert [f.what for f in found] == ["rally.against_low_ball"]
    assert found[0].fitted[0] == pytest.approx(0.45, abs=0.03)
    assert found[0].fitted[1] == pytest.approx(0.70, abs=0.03)
    assert found[0].fitted[2] >= 40
