"""Importance of points: Morris, C. (1977), "The most important points in tennis", in Ladany & Machol (eds), Optimal
Strategies in Sports, North-Holland, 131-140. The definition was seen quoted; the identities are from memory and
recomputed in exact fractions.
"""

import json
from fractions import Fraction
from functools import cache
from math import sqrt
from pathlib import Path

import pytest

from tacticapi.scoring.formats import Format
from tacticapi.scoring.games_and_sets import game_chance, game_fork
from tacticapi.scoring.match import MatchModel
from tacticapi.scoring.score import State

from ..scores import game_importance, match_importance

TABLES = json.loads((Path(__file__).parent / "data" / "score_tables.json").read_text())
ROUNDED = 6e-7
OURS = {"deuce": "40-40", "Ad-in": "AD-40", "Ad-out": "40-AD"}
COUNTS = {call: count for count, call in enumerate(("0", "15", "30", "40", "AD"))}
DEUCE = (3, 3)


def number(text):
    return float(Fraction(text))


@cache
def exact_chance(p, own, opponent):
    """Chance of the game in exact fractions, by recursion from the score."""
    if max(own, opponent) >= 4 and abs(own - opponent) >= 2:
        return Fraction(own > opponent)
    if (own, opponent) == DEUCE:
        return p * p / (p * p + (1 - p) ** 2)
    if min(own, opponent) > 3:
        return exact_chance(p, *DEUCE)
    return p * exact_chance(p, own + 1, opponent) + (1 - p) * exact_chance(p, own, opponent + 1)


@cache
def visits(p):
    """Expected number of times each score of a game comes up."""
    before = {(0, 0): Fraction(1)}
    for total in range(6):
        for own in range(total + 1):
            here = before.get((own, total - own))
            if here is None or max(own, total - own) > 3:
                continue
            for after, chance in (((own + 1, total - own), p), ((own, total - own + 1), 1 - p)):
                before[after] = before.get(after, Fraction(0)) + here * chance
    played = {score: count for score, count in before.items() if max(score) <= 3}
    returns = 2 * p * (1 - p)
    at_deuce = played[DEUCE] / (1 - returns)
    return played | {DEUCE: at_deuce, (4, 3): at_deuce * p, (3, 4): at_deuce * (1 - p)}


@pytest.mark.parametrize("p", TABLES["importance"])
def test_every_point_of_a_game_has_its_published_importance(p):
    ours = game_importance(float(p))
    for call, value in TABLES["importance"][p].items():
        assert ours[OURS.get(call, call)] == pytest.approx(value, abs=ROUNDED), call


@pytest.mark.parametrize("p", [0.51, 0.6, 0.62, 0.65, 0.7, 0.75])
def test_thirty_forty_is_the_most_important_point_of_a_good_servers_game(p):
    table = game_importance(p)
    break_points = p * p / (p * p + (1 - p) ** 2)
    assert max(table.values()) == pytest.approx(break_points)
    assert table["30-40"] == table["40-AD"] == pytest.approx(break_points)
    assert table["40-30"] == pytest.approx(1 - break_points)
    assert table["30-30"] == table["40-40"] == pytest.approx(p * (1 - p) / (p * p + (1 - p) ** 2))


def test_at_the_golden_ratio_three_pressure_points_are_equal():
    table = game_importance((sqrt(5) - 1) / 2)
    for call in ("15-30", "30-30", "15-40"):
        assert table[call] == pytest.approx(1 / sqrt(5), abs=1e-14)


def test_break_points_matter_as_published():
    for p, expected in ((0.51, (0.519992, 0.265196, 0.135250)), (0.65, (0.775229, 0.503899, 0.327534))):
        table = game_importance(p)
        assert [table[call] for call in ("30-40", "15-40", "0-40")] == pytest.approx(list(expected), abs=ROUNDED)


@pytest.mark.parametrize("row", TABLES["game"], ids=lambda row: row["p"])
def test_expected_visits_times_importance_is_the_slope_of_the_game(row):
    """Time-importance identity (Morris 1977, from memory; recomputed), and the expected length beside it."""
    p = Fraction(row["p"])
    table = game_importance(float(p))
    by_count = {(COUNTS[own], COUNTS[opponent]): value for (own, opponent), value in split(table)}
    ours = sum(float(count) * by_count[score] for score, count in visits(p).items())
    assert ours == pytest.approx(row["dP_dp"], abs=ROUNDED)
    assert float(sum(visits(p).values())) == pytest.approx(row["E_points"], abs=ROUNDED)
    spread = sum(float(count * p * (1 - p)) * by_count[score] ** 2 for score, count in visits(p).items())
    assert spread == pytest.approx(game_chance(float(p)) * (1 - game_chance(float(p))), abs=1e-12)


def split(table):
    return [((call.split("-")[0], call.split("-")[1]), value) for call, value in table.items()]


@pytest.mark.parametrize("text", ["13/20", "31/50", "1/2", "9/20"])
def test_our_recursion_equals_one_in_exact_fractions(text):
    p = Fraction(text)
    scores = [(own, opponent) for own in range(4) for opponent in range(4)] + [(4, 3), (3, 4)]
    for own, opponent in scores:
        fork = game_fork(float(p), (own, opponent))
        assert fork.now == pytest.approx(float(exact_chance(p, own, opponent)), abs=1e-14)
        exact = exact_chance(p, own + 1, opponent) - exact_chance(p, own, opponent + 1)
        assert fork.importance == pytest.approx(float(exact), abs=1e-14)


@pytest.mark.parametrize("row", TABLES["nested_importance"], ids=lambda row: f"{row['A_serving_games']} {row['score']}")
def test_importance_multiplies_from_game_to_set_to_match(row):
    """Product rule (Morris 1977, from memory; recomputed)."""
    games = tuple(int(part) for part in row["A_serving_games"].split("-"))
    points = tuple(COUNTS[part] for part in row["score"].split("-"))
    fmt = Format()
    serve, ret = number(row["pa"]), 1 - number(row["pb"])
    state = State(fmt, games=(games[0], games[1]), points=(points[0], points[1]), server="own")
    model = MatchModel(fmt, serve, ret)
    chances = model.at(state)
    set_in_match = model.match_chance((1, 0)) - model.match_chance((0, 1))
    assert chances.game.importance == pytest.approx(row["I_point_in_game"], abs=ROUNDED)
    assert chances.set_by_game.importance == pytest.approx(row["I_game_in_set"], abs=ROUNDED)
    assert chances.set.importance == pytest.approx(row["I_point_in_set"], abs=ROUNDED)
    assert set_in_match == pytest.approx(row["I_set1_in_bo3"], abs=ROUNDED)
    assert chances.match.importance == pytest.approx(row["I_point_in_match_set1"], abs=ROUNDED)
    product = chances.game.importance * chances.set_by_game.importance * set_in_match
    assert chances.match.importance == pytest.approx(product, abs=1e-14)
    assert match_importance(fmt, state, serve, ret)[row["score"]] == pytest.approx(chances.match.importance, abs=1e-14)
