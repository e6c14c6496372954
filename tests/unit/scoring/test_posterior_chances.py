"""Chances under uncertain point chances: quadrature, means and percentiles."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import beta as beta_function
from scipy.special import betainc, betaincinv

from tacticapi.scoring.formats import Format
from tacticapi.scoring.games_and_sets import game_chance
from tacticapi.scoring.match import beta_nodes, expected, expected_importance, importance_table, percentiles
from tacticapi.scoring.score import State

from ...scores import win_chance

START = State(Format(), server="own")
SOME_SCORES = (
    START,
    State(Format(), ((3, 6),), (2, 1), (0, 0), "opponent"),
    State(Format(sets=5, set="advantage"), ((6, 3),), (5, 5), (3, 3), "own"),
    State(Format(games=4, no_ad=True), (), (3, 2), (1, 3), None),
)


@given(st.floats(0.3, 200), st.floats(0.3, 200), st.integers(1, 12))
@settings(max_examples=60, deadline=None)
def test_nodes_give_the_moments_of_a_beta_and_hold_for_a_very_long_history(a, b, n):
    nodes, weights = beta_nodes(a, b, n)
    assert weights.sum() == pytest.approx(1.0)
    for power in range(2 * n):
        assert weights @ nodes**power == pytest.approx(beta_function(a + power, b) / beta_function(a, b), rel=1e-8)
    nodes, weights = beta_nodes(1e6, 2e6, 20)
    assert weights @ nodes == pytest.approx(1 / 3, abs=1e-12)
    assert 0.33 < nodes.min() < nodes.max() < 0.34


@pytest.mark.parametrize(("a", "b", "n"), [(0, 1, 8), (1, -1, 8), (np.inf, 1, 8), (np.nan, 1, 8), (1, 1, 0)])
def test_a_beta_needs_positive_finite_counts(a, b, n):
    with pytest.raises(ValueError, match="Beta"):
        beta_nodes(a, b, n)


@pytest.mark.parametrize("state", SOME_SCORES)
@pytest.mark.parametrize(
    ("serve", "ret"), [((1, 1), (1, 1)), ((5, 3), (3, 5)),
                       ((6, 5), (4, 7)), ((10.8, 9.2), (8.4, 11.6)), ((37, 23), (20, 30))]
)  # fmt: skip
def test_means_are_within_a_hundred_thousandth(state, serve, ret):
    ours, fine = (expected(state.format, state, serve, ret, nodes) for nodes in (None, 120))
    for mine, other in ((ours.game, fine.game), (ours.set, fine.set), (ours.match, fine.match)):
        assert mine.now == pytest.approx(other.now, abs=1e-5)
        assert mine.importance == pytest.approx(other.importance, abs=1e-5)


@pytest.mark.parametrize(("serve", "ret"), [((28.52, 1.48), (1.11, 28.89)), ((2.2, 57.8), (58.29, 1.71))])
@pytest.mark.parametrize("sets", [3, 5])
def test_means_hold_where_serves_are_almost_never_lost(sets, serve, ret):
    """Advantage sets between two such servers hardly end, which is hardest on the quadrature."""
    fmt = Format(sets=sets, set="advantage")
    ours, fine = (expected(fmt, State(fmt, server="own"), serve, ret, nodes) for nodes in (None, 300))
    assert ours.match.now == pytest.approx(fine.match.now, abs=1e-5)
    assert ours.match.importance == pytest.approx(fine.match.importance, abs=1e-5)


def percentile_by_inversion(state, serve, ret, level):
    """The percentile without sampling: for each serve chance, the match chance rises in ret and is turned round."""
    serves = betaincinv(*serve, (np.arange(400) + 0.5) / 400)
    rets = np.linspace(0.0, 1.0, 1001)
    curves = win_chance(state.format, state, serves[:, np.newaxis], rets)

    def beyond(chance):
        return float(np.mean([betainc(*ret, np.interp(chance, curve, rets)) for curve in curves])) - level

    return float(brentq(beyond, 1e-12, 1 - 1e-12, xtol=1e-9))


@pytest.mark.parametrize("state", SOME_SCORES[:3])
@pytest.mark.parametrize(("serve", "ret"), [((13.2, 6.8), (10, 10)), ((130, 70), (80, 120))])
def test_percentiles_are_as_close_as_stated(state, serve, ret):
    exact = [percentile_by_inversion(state, serve, ret, level) for level in (0.1, 0.9)]
    found = [at.match.now for at in percentiles(state.format, state, serve, ret)]
    assert found == pytest.approx(exact, abs=6e-3)


@pytest.mark.parametrize("serve", [(13.2, 6.8), (130, 70)])
def test_percentiles_of_a_game_are_the_game_at_the_percentiles(serve):
    """A hold rises with the point chance, so its percentiles are known exactly."""
    low, high = percentiles(Format(), START, serve, (10, 10))
    assert low.game.now == pytest.approx(game_chance(betaincinv(*serve, 0.1)), abs=3e-3)
    assert high.game.now == pytest.approx(game_chance(betaincinv(*serve, 0.9)), abs=3e-3)


def test_the_expected_table_of_importance_is_that_of_each_score():
    state = SOME_SCORES[1]
    table = expected_importance(state.format, state, (37, 23), (20, 30))
    assert list(table) == list(importance_table(state.format, state, 0.6, 0.4))
    for call, points in (("0-0", (0, 0)), ("30-40", (2, 3)), ("AD-40", (4, 3))):
        at = expected(state.format, state.with_points(points), (37, 23), (20, 30))
        assert table[call].game == pytest.approx(at.game.importance, abs=1e-12)
        assert table[call].set == pytest.approx(at.set.importance, abs=1e-12)
        assert table[call].match == pytest.approx(at.match.importance, abs=1e-12)
