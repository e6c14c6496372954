"""Games, runs and streaks against published examples and against an independent solver.

Matrices marked "from memory" were recalled, not seen; their solutions are recomputed and land on round numbers.
"""

import json
from collections import Counter
from fractions import Fraction
from itertools import permutations, product
from pathlib import Path

import numpy as np
import pytest

from tacticapi.pricing.predictability import runs, runs_distribution, share_after
from tacticapi.pricing.serve_mix import solve

CHECKS = json.loads((Path(__file__).parent / "data" / "extra_checks.json").read_text())
RUNS, STREAKS = CHECKS["runs"], CHECKS["streak_bias"]

# matrix, first row's share, first column's share, value
GAMES = {
    # Walker & Wooders 2001, American Economic Review 91(5):1521-1538, figure 1: matrix from memory
    "serve left or right": ([[0.58, 0.79], [0.73, 0.49]], 8 / 15, 2 / 3, 0.65),
    # Dixit & Skeath, Games of Strategy: matrix from memory
    "pass down the line or cross": ([[0.50, 0.80], [0.90, 0.20]], 0.7, 0.6, 0.62),
    # Dixit & Nalebuff 1991, Thinking Strategically, chapter 7: the receiver's success 0.9 0.3 / 0.2 0.6 from memory,
    # as the server's chance; the receiver returns 0.48
    "serve to forehand or backhand": ([[0.1, 0.7], [0.8, 0.4]], 0.4, 0.3, 0.52),
    # recomputed, no publication
    "guess between equal spots": ([[0.55, 0.80], [0.80, 0.55]], 0.5, 0.5, 0.675),
    "one spot better whatever they do": ([[0.70, 0.75], [0.60, 0.65]], 1.0, 1.0, 0.70),
}


@pytest.mark.parametrize("name", GAMES)
def test_worked_games_are_solved(name):
    matrix, row, col, value = GAMES[name]
    solution = solve(matrix)
    assert solution.mix_row == pytest.approx((row, 1 - row), abs=1e-12)
    assert solution.mix_col == pytest.approx((col, 1 - col), abs=1e-12)
    assert solution.value == pytest.approx(value, abs=1e-12)


def test_the_games_are_those_of_the_reference_table():
    table = CHECKS["games_2x2"].values()
    known = {(*np.ravel(matrix), value) for matrix, _, _, value in GAMES.values()}
    for game in table:
        entries, value = [float(entry) for entry in game["matrix"]], float(Fraction(game["value"]))
        if "receiver_F" in game:
            entries, value = [1 - entry for entry in entries], 1 - value
        assert any((*entries, value) == pytest.approx(ours) for ours in known)


def test_in_balance_every_spot_used_wins_equally_often():
    """Walker & Wooders 2001 (abstract seen)."""
    matrix = np.array(GAMES["serve left or right"][0])
    solution = solve(matrix)
    assert matrix @ solution.mix_col == pytest.approx([0.65, 0.65])
    assert solution.mix_row @ matrix == pytest.approx([0.65, 0.65])


def random_games():
    dice = np.random.default_rng(2001)
    return [dice.uniform(0.3, 0.9, shape) for shape in ((2, 2), (3, 3), (3, 2), (2, 4), (4, 4)) for _ in range(4)]


def test_values_and_mixes_agree_with_nashpy():
    """nashpy, https://nashpy.readthedocs.io: its own linear programme for zero-sum games."""
    import nashpy

    for game in random_games():
        solution = solve(game)
        row, col = nashpy.Game(game).linear_program()
        assert solution.value == pytest.approx(row @ game @ col, abs=1e-9)
        assert solution.mix_row == pytest.approx(row, abs=1e-7)
        assert solution.mix_col == pytest.approx(col, abs=1e-7)


@pytest.mark.parametrize("counts", RUNS)
def test_runs_of_two_spots_follow_wald_and_wolfowitz(counts):
    """Wald & Wolfowitz 1940, Gibbons (from memory): mean and variance; the distribution recomputed."""
    chances = runs_distribution([int(count) for count in counts.split(",")])
    mean = sum(r * p for r, p in chances.items())
    assert mean == Fraction(RUNS[counts]["mean"])
    assert sum((r - mean) ** 2 * p for r, p in chances.items()) == Fraction(RUNS[counts]["var"])
    for r, below in RUNS[counts]["cdf"].items():
        assert float(sum(p for seen, p in chances.items() if seen <= int(r))) == pytest.approx(below, abs=6e-7)


@pytest.mark.parametrize(
    ("counts", "few", "p_few", "many", "p_many"),
    [((10, 10), 6, 0.018522, 16, 0.018522), ((20, 20), 14, 0.018163, 28, 0.018163)],
)
def test_tails_of_the_runs_test(counts, few, p_few, many, p_many):
    """Recomputed."""
    chances = runs_distribution(counts)
    assert float(sum(p for r, p in chances.items() if r <= few)) == pytest.approx(p_few, abs=6e-7)
    assert float(sum(p for r, p in chances.items() if r >= many)) == pytest.approx(p_many, abs=6e-7)


@pytest.mark.parametrize("counts", [(1, 1, 1), (2, 2, 2), (4, 1, 2), (3, 3, 2), (2, 1, 2, 2), (5, 0, 2), (4,)])
def test_runs_of_any_number_of_spots_are_those_of_all_orders(counts):
    """Enumeration of every order."""
    serves = [spot for spot, count in enumerate(counts) for _ in range(count)]
    seen = Counter(runs(order) for order in permutations(serves))
    total = sum(seen.values())
    assert runs_distribution(counts) == {r: Fraction(number, total) for r, number in seen.items()}


@pytest.mark.parametrize("flips", [3, 4, 5, 10])
def test_a_fair_coin_repeats_itself_less_than_half_the_time_within_a_sequence(flips):
    """Miller & Sanjurjo 2018, Econometrica 86:2019-2047: 5/12 in three flips, 17/42, 49/120 (values recomputed)."""
    looks = [share_after(order, "T") for order in product(("T", "wide"), repeat=flips)]
    defined = [look for look in looks if look.share is not None]
    raw = sum(Fraction(look.again, look.of) for look in defined) / len(defined)
    assert raw == Fraction(STREAKS[f"n={flips},k=1"][0])
    beyond_chance = [(look.share or 0.0) - (look.by_chance or 0.0) for look in defined]
    assert sum(beyond_chance) / len(defined) == pytest.approx(0.0, abs=1e-12)
