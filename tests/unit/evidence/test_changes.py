"""Whether a share of their play changed between games."""

from math import exp

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import betaln

from tacticapi.evidence.entries import change_point

games = st.lists(
    st.integers(1, 9).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))), min_size=2, max_size=9
)


def read(counts):
    return change_point(counts, prior=0.1, share=0.5, size=2.0)


@given(counts=games)
def test_the_chance_is_bayes_over_every_game_after_which_it_may_have_changed(counts):
    def sequence(part):
        hits, of = sum(h for h, _ in part), sum(n for _, n in part)
        return exp(betaln(1 + hits, 1 + of - hits))

    plain = sequence(counts)
    changed = [sequence(counts[:k]) * sequence(counts[k:]) for k in range(1, len(counts))]
    mean = sum(changed) / len(changed)
    found = read(counts)
    assert found.chance == pytest.approx(0.1 * mean / (0.1 * mean + 0.9 * plain))
    assert changed[found.games_before - 1] == pytest.approx(max(changed))


@given(counts=games)
def test_hits_and_misses_are_alike_and_time_runs_either_way(counts):
    mirrored = [(of - hits, of) for hits, of in counts]
    assert read(mirrored).chance == pytest.approx(read(counts).chance)
    assert read(counts[::-1]).chance == pytest.approx(read(counts).chance)


def test_one_in_eight_and_then_seven_in_eight_is_a_change_and_when():
    found = read([(1, 8), (1, 8), (1, 8), (7, 8), (7, 8)])
    assert found.chance > 0.99
    assert (found.games_before, found.before, found.since) == (3, pytest.approx(4 / 26), pytest.approx(15 / 18))


def test_a_hit_and_then_a_miss_where_two_hits_in_three_are_usual():
    """Beta(2, 1), in fractions: with one share 2/3 * 1/4 = 1/6, with two 2/3 * 1/3 = 2/9; 0.1 and 0.9 before."""
    found = change_point([(1, 1), (0, 1)], prior=0.1, share=2 / 3, size=3.0)
    assert found.chance == pytest.approx(4 / 31)
    assert (found.games_before, found.before, found.since) == (1, pytest.approx(3 / 4), pytest.approx(1 / 2))


def test_a_steady_share_makes_a_change_less_likely_than_before_counting_and_one_game_cannot_tell():
    assert read([(4, 8)] * 6).chance < 0.1
    with pytest.raises(ValueError, match="1 games: a change needs at least two"):
        read([(3, 8)])


def alarms(rulebook, shares, trials=400):
    """How often six games of eight chances each with these shares are taken for a change."""
    rule = rulebook.defaults["their_play"]
    draws = np.random.default_rng(11).binomial(8, shares, size=(trials, len(shares)))
    found = (change_point([(h, 8) for h in row], rule["prior"], rule["share"], rule["size"]) for row in draws.tolist())
    return sum(f.chance >= rule["chance"] for f in found) / trials


def test_noise_seldom_passes_for_a_change_and_a_large_change_is_mostly_noticed(rulebook):
    assert max(alarms(rulebook, [share] * 6) for share in (0.2, 0.35, 0.5)) < 0.02
    assert alarms(rulebook, [0.15] * 3 + [0.65] * 3) > 0.7
