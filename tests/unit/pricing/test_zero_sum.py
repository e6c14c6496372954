"""Zero-sum games of any size."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray

from tacticapi.pricing.zero_sum import _linear_programme, best_mixes, exploitability, guaranteed, solve

Games = st.tuples(st.integers(1, 4), st.integers(1, 4)).flatmap(
    lambda shape: arrays(float, shape, elements=st.integers(0, 100).map(lambda percent: percent / 100))
)


@given(Games)
@settings(max_examples=80, deadline=None)
def test_the_value_lies_between_what_pure_choices_can_secure(game: NDArray[np.float64]) -> None:
    value = solve(game).value
    assert game.min(axis=1).max() - 1e-9 <= value <= game.max(axis=0).min() + 1e-9


@given(Games)
@settings(max_examples=80, deadline=None)
def test_neither_player_can_do_better_alone_and_mixes_sum_to_one(game: NDArray[np.float64]) -> None:
    solution = solve(game)
    row, col = np.array(solution.mix_row), np.array(solution.mix_col)
    assert (row.sum(), col.sum()) == pytest.approx((1, 1))
    assert min(row.min(), col.min()) >= 0
    assert (game @ col).max() == pytest.approx(solution.value, abs=1e-9)
    assert (row @ game).min() == pytest.approx(solution.value, abs=1e-9)


@given(arrays(float, (2, 2), elements=st.floats(0, 1, width=32)))
@settings(max_examples=80, deadline=None)
def test_the_linear_programme_gives_the_value_of_the_closed_form(game: NDArray[np.float64]) -> None:
    row, col = _linear_programme(game)
    assert row @ game @ col == pytest.approx(solve(game).value, abs=1e-7)


@given(Games, st.randoms(use_true_random=False))
@settings(max_examples=80, deadline=None)
def test_only_a_best_mix_cannot_be_exploited(game: NDArray[np.float64], dice: Any) -> None:
    assert exploitability(game, solve(game).mix_row) == pytest.approx(0, abs=1e-9)
    other = np.array([dice.random() + 0.01 for _ in game])
    mix = other / other.sum()
    assert exploitability(game, mix) >= 0
    assert exploitability(game, mix) == pytest.approx(solve(game).value - (mix @ game).min(), abs=1e-9)


def test_always_serving_to_one_spot_gives_away_what_the_receiver_gains_by_waiting_there() -> None:
    assert exploitability([[0.58, 0.79], [0.73, 0.49]], [1, 0]) == pytest.approx(0.65 - 0.58)
    assert exploitability([[0.58, 0.79], [0.73, 0.49]], [0, 1]) == pytest.approx(0.65 - 0.49)


@given(st.tuples(st.integers(1, 4), st.integers(1, 4)), st.integers(0, 10_000))
@settings(max_examples=40, deadline=None)
def test_many_games_at_once_are_worth_what_each_is_worth(shape: tuple[int, int], seed: int) -> None:
    games = np.random.default_rng(seed).integers(0, 12, (5, *shape)) / 11
    mixes = best_mixes(games)
    assert mixes.sum(axis=1) == pytest.approx(np.ones(5))
    for game, mix in zip(games, mixes, strict=True):
        assert (mix @ game).min() == pytest.approx(solve(game).value, abs=1e-9)


@pytest.mark.parametrize("matrix", [[], [[]], [0.5, 0.6], [[0.5, float("nan")]], [[float("inf")]]])
def test_what_is_no_game_is_refused(matrix: Any) -> None:
    with pytest.raises(ValueError, match="a game needs"):
        solve(matrix)


def test_a_game_too_large_in_its_numbers_has_no_solution_rather_than_a_wrong_one() -> None:
    with pytest.raises(ArithmeticError, match="no solution of a game of 3 by 3: "):
        solve(1e25 * np.eye(3))


@pytest.mark.parametrize("mix", [[1.0], [0.5, 0.6], [1.5, -0.5], [float("nan"), 1.0]])
def test_what_is_no_mix_is_refused(mix: list[float]) -> None:
    with pytest.raises(ValueError, match="is no mix"):
        guaranteed([[0.5, 0.6], [0.7, 0.4]], mix)


def test_large_games_are_refused_where_many_are_solved_at_once() -> None:
    with pytest.raises(ValueError, match="at most 4"):
        best_mixes(np.zeros((2, 5, 2)))
