"""Zero-sum games of any size."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from tacticapi.pricing.serve_mix import best_mixes, exploitability, solve

Games = st.tuples(st.integers(1, 4), st.integers(1, 4)).flatmap(
    lambda shape: arrays(float, shape, elements=st.integers(0, 100).map(lambda percent: percent / 100))
)


@given(Games)
@settings(max_examples=80, deadline=None)
def test_neither_player_can_do_better_alone_and_mixes_sum_to_one(game):
    solution = solve(game)
    row, col = np.array(solution.mix_row), np.array(solution.mix_col)
    assert (row.sum(), col.sum()) == pytest.approx((1, 1))
    assert min(row.min(), col.min()) >= 0
    assert (game @ col).max() == pytest.approx(solution.value, abs=1e-9)
    assert (row @ game).min() == pytest.approx(solution.value, abs=1e-9)


@given(Games, st.randoms(use_true_random=False))
@settings(max_examples=80, deadline=None)
def test_only_a_best_mix_cannot_be_exploited(game, dice):
    assert exploitability(game, solve(game).mix_row) == pytest.approx(0, abs=1e-9)
    other = np.array([dice.random() + 0.01 for _ in game])
    mix = other / other.sum()
    assert exploitability(game, mix) >= 0
    assert exploitability(game, mix) == pytest.approx(solve(game).value - (mix @ game).min(), abs=1e-9)


@given(st.tuples(st.integers(1, 4), st.integers(1, 4)), st.integers(0, 10_000))
@settings(max_examples=40, deadline=None)
def test_many_games_at_once_are_worth_what_each_is_worth(shape, seed):
    games = np.random.default_rng(seed).integers(0, 12, (5, *shape)) / 11
    mixes = best_mixes(games)
    assert mixes.sum(axis=1) == pytest.approx(np.ones(5))
    for game, mix in zip(games, mixes, strict=True):
        assert (mix @ game).min() == pytest.approx(solve(game).value, abs=1e-9)
