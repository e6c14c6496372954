"""A trained reader finds what can be read and makes nothing of noise."""

import numpy as np
import pytest

from tests.rehearsal.outcome import AtStage, Believed, ByPrice, Rehearsed, Stage
from tests.rehearsal.reader import _choice, readable
from tests.rehearsal.world.tactics import CHANGES, options

PLACE = next(i for i, one in enumerate(options()) if one.tactic == "high-ball-to-high-ball-weakness")


def met(rng: np.random.Generator, told: bool) -> Rehearsed:
    weak = bool(rng.uniform() < 0.4)
    singles = [-0.001] * len(options())
    singles[PLACE] = 0.01 if weak else -0.01
    said = (0.9 if weak else 0.1) if told else float(rng.uniform(0.2, 0.6))
    believed = (Believed("weak_high_backhand", "backhand", 0.45, said, weak),)
    best = 0.51 if weak else 0.50
    at = AtStage(0.50, 0.50, 0.50, best, (), believed, ByPrice(0.5, 0.5, 0.5))
    own = tuple(float(x) for x in rng.integers(0, 5, 3))
    counts = (("rally.against_high_ball", "backhand", None, 4.0 if weak and told else 8.0, 12.0),)
    return Rehearsed(0, dict.fromkeys(Stage, at), counts, own, tuple(singles))


@pytest.mark.parametrize("told", [True, False])
def test_a_belief_that_tells_is_worth_having_and_one_that_does_not_is_not(told):
    rng = np.random.default_rng(3)
    found = readable([met(rng, told) for _ in range(1200)], Stage.SET)
    assert found is not None
    assert (found.beliefs > 0.9) == told
    assert found.counts is not None
    assert (found.counts > 0.9) == told
    assert found.truths > 0.9
    assert found.own < 0.2


def test_counts_are_read_after_the_set_alone():
    rng = np.random.default_rng(3)
    early = readable([met(rng, True) for _ in range(60)], Stage.WARM_UP)
    assert early is not None
    assert early.counts is None


def test_the_reader_picks_different_tactics_that_promise_most_and_no_more_than_may_be_played():
    predicted = np.full(len(options()), -0.001)
    best, other = (n for n, one in enumerate(options()) if one.tactic == "low-slice-to-low-ball-weakness")
    reads = next(n for n, one in enumerate(options()) if CHANGES[one.tactic].reads)
    predicted[[reads, best, other, PLACE]] = 0.04, 0.03, 0.02, 0.01
    assert _choice(predicted, 3) == [best, PLACE]
    assert _choice(predicted, 1) == [best]


def test_nothing_is_trained_on_a_handful_of_opponents():
    rng = np.random.default_rng(3)
    assert readable([met(rng, True) for _ in range(10)], Stage.SET) is None
