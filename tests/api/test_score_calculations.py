"""Win chance and importance over HTTP: published figures, what was played, faults with their place."""

import pytest

from tacticapi.scoring.formats import Format
from tacticapi.scoring.match import expected, percentiles
from tacticapi.scoring.score import State

from .calculating import BODIES, CHANCES, IMPORTANCE, WIN, asked, faults

ROUNDED = 6e-7
PLAYED = {"on_serve": {"won": 22, "of": 35}, "on_return": {"won": 13, "of": 33}}


def test_the_best_of_three_has_its_published_chance(client):
    """0.736502 for 0.65 against 0.60 (tests/published/data/score_tables.json, recomputed in exact fractions)."""
    match = asked(client, WIN)["match"]
    assert match["chance"] == pytest.approx(0.736502, abs=ROUNDED)
    assert match["low"] == match["high"] == match["chance"]
    assert asked(client, WIN, format={"sets": 5})["match"]["chance"] > match["chance"]  # which favours the better one


@pytest.mark.parametrize(
    ("score", "words"),
    [
        (None, "an ordinary point"),
        ({"games": [3, 4], "points": ["30", "40"], "server": "own"}, "break point against you"),
        ({"games": [3, 4], "points": ["30", "40"], "server": "own"}, "you serve to the ad court"),
        ({"games": [3, 4], "points": ["30", "40"], "server": "own"}, "change ends after the next game"),
        ({"games": [3, 4], "points": ["0", "0"], "server": "own"}, "change ends now"),
        ({"games": [2, 2], "points": ["15", "0"], "server": "own"}, "change ends after this game"),
        ({"games": [6, 6], "points": ["3", "2"], "server": "own"}, "change ends in 1 point"),
        ({"sets": [[6, 3], [5, 7]], "games": [6, 6], "points": ["3", "2"]}, "change ends in 1 point"),
        ({"sets": [[6, 3], [7, 5]]}, "the match is over: you won"),
    ],
)
def test_the_score_is_told_in_one_line(client, score, words):
    assert words in asked(client, WIN, score=score)["score"]


def test_the_score_is_told_as_facts(client):
    score = {"sets": [[3, 6]], "games": [5, 6], "points": ["15", "40"], "server": "own"}
    point = asked(client, WIN, score=score)["next_point"]
    assert (point.get("server"), point["courts"], point["tie_break"]) == ("own", ["deuce"], False)
    theirs = ["opponent"]
    assert [point[f"{name}_point"] for name in ("game", "break", "set", "match")] == [theirs] * 4
    assert (point["ends_change_now"], point.get("ends_change_in_points")) == (False, None)


def test_points_played_give_means_and_percentiles_over_what_they_leave_open(client):
    answer = asked(client, WIN, point_chances=None, points_played=PLAYED, level_gap="stronger", score={"server": "own"})
    serve, ret = (20 * 0.54 + 22, 20 * 0.46 + 13), (20 * 0.38 + 13, 20 * 0.62 + 20)
    start = State(Format(), server="own")
    mean = expected(Format(), start, serve, ret)
    low, high = percentiles(Format(), start, serve, ret)
    for part in ("match", "set", "game"):
        found = [getattr(each, part).now for each in (mean, low, high)]
        assert list(answer[part].values()) == pytest.approx(found, abs=1e-12)
        assert answer[part]["low"] < answer[part]["chance"] < answer[part]["high"]
    assert any("model default by level, worth 20 points" in line for line in answer["notice"])


def test_a_decided_match_leaves_nothing_open(client):
    over = {"sets": [[6, 4], [6, 4]]}
    for source in ({"point_chances": CHANCES}, {"point_chances": None, "points_played": {}}):
        answer = asked(client, WIN, score=over, **source)
        assert answer["match"] == {"chance": 1.0, "low": 1.0, "high": 1.0}
        assert set(answer["importance"].values()) == {0.0}
        assert asked(client, IMPORTANCE, score=over, **source)["items"] == []


def test_a_game_lists_every_score_once_and_a_tie_break_its_own(client):
    game = asked(client, IMPORTANCE)
    assert (game.get("server"), len(game["items"])) == ("own", 18)
    no_ad = asked(client, IMPORTANCE, format={"no_ad": True})
    assert [item.get("score") for item in no_ad["items"]][-1] == "40-40"
    tie_break = asked(client, IMPORTANCE, score={"games": [6, 6], "points": ["1", "0"], "server": "opponent"})
    assert (tie_break.get("server"), tie_break["tie_break"], len(tie_break["items"])) == ("own", True, 49)
    assert len({item.get("score") for item in tie_break["items"]}) == 49


def test_an_impossible_score_is_refused_in_the_words_of_a_situation(client):
    score = {"sets": [[7, 2]], "points": ["50", "0"], "server": "umpire"}
    expected_here = faults(client, WIN, {**BODIES[WIN], "score": score})
    assert expected_here == faults(client, "/v1/suggestions", {"moment": "set-break", "score": score})


def test_a_game_without_its_server_is_no_question(client):
    for score in ({}, {"games": [3, 2]}, {"games": [6, 6], "server": None}):
        body = {**BODIES[IMPORTANCE], "score": score, "level_gap": "level"}
        assert set(faults(client, IMPORTANCE, body)) == {"/score/server", "/level_gap"}
