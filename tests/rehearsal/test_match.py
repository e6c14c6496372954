"""Matches end as the rules say, nerves fade, legs tire, and points look like tennis."""

from itertools import pairwise
from random import Random

import numpy as np
import pytest

from tests.rehearsal.world.match import OTHER, OWN, Court, Score, play_game
from tests.rehearsal.world.own_plan import usual_nature
from tests.rehearsal.world.pairing import draw_pairing


def court_of(index: int) -> Court:
    p = draw_pairing(21, index)
    return Court(p.own, p.other, p.nature, p.habits, Random(index), p.plan)


@pytest.fixture(scope="module")
def matches():
    played = []
    for index in range(12):
        court, score, games = court_of(index), Score(), []
        while not score.over:
            games.append(play_game(court, score))
        played.append((score, games))
    return played


def test_a_match_ends_when_somebody_has_two_sets(matches):
    for score, _ in matches:
        won = [sum(s[who] > s[1 - who] for s in score.sets) for who in (OWN, OTHER)]
        assert max(won) == 2
        assert score.games == [0, 0]


def test_a_set_is_six_games_with_two_clear_or_seven(matches):
    for score, _ in matches:
        for a, b in score.sets:
            assert (max(a, b) == 6 and min(a, b) <= 4) or (max(a, b) == 7 and min(a, b) in (5, 6))


def test_serve_changes_after_every_game(matches):
    for _, games in matches:
        servers = [game[0].server for game in games]
        assert all(a != b for a, b in pairwise(servers))


def test_a_game_is_won_by_two_points_and_its_courts_take_turns(matches):
    for _, games in matches:
        for game in games:
            won = sorted(sum(p.winner == who for p in game) for who in (OWN, OTHER))
            assert won[1] - won[0] >= 2
            assert [p.court for p in game] == [i % 2 for i in range(len(game))]


def test_points_look_like_tennis(matches):
    points = [p for _, games in matches for game in games for p in game]
    held = np.mean([p.server == p.winner for p in points])
    first_in = np.mean([p.faults == 0 for p in points])
    doubles = np.mean([p.faults == 2 for p in points])
    strokes = np.mean([len(p.strokes) + 1 for p in points])
    assert 0.54 < held < 0.68
    assert 0.55 < first_in < 0.70
    assert 0.02 < doubles < 0.08
    assert 3.5 < strokes < 6.5


def test_nerves_fade_over_the_first_games_and_legs_tire_late():
    nature = usual_nature(left=False)
    court = court_of(1)
    court.nature = type(nature)({**nature.z, "nerves": 2.0, "stamina": -2.0}, False, "two-handed", None)
    shares = [court.off_share(game) for game in (0, 2, 6, 30)]
    assert shares[0] > shares[1] > shares[2]
    assert shares[3] > shares[2]


def test_the_same_seed_plays_the_same_match():
    one, two = (play_game(court_of(3), Score()) for _ in range(2))
    assert one == two
