"""Scores as a request states them: what is read, and what is refused with which reason."""

from __future__ import annotations

from typing import Any

import pytest

from tacticapi.scoring.formats import Fault, Format, ScoreError
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.score import State

THREE = Format()
SUPER = Format(final_set="match-tie-break-10")
LONG = Format(set="advantage")
NO_AD = Format(no_ad=True)
SHORT = Format(games=4)
SHORT_AT_THREE = Format(games=4, tie_break_at=3)
LEVEL = [[6, 4], [4, 6]]


def faults_of(fmt: Format, **score: Any) -> tuple[Fault, ...]:
    with pytest.raises(ScoreError) as refused:
        read_score(fmt, score)
    assert isinstance(refused.value, ValueError)
    return refused.value.faults


def test_nothing_said_is_the_start_of_a_match():
    assert read_score(THREE, None) == read_score(THREE, {}) == State(THREE)
    assert read_score(THREE, {"sets": None, "games": None, "points": None, "server": None}) == State(THREE)


def test_a_score_is_read_as_counts():
    state = read_score(THREE, {"sets": [[3, 6]], "games": [2, 1], "points": ["40", "AD"], "server": "opponent"})
    assert state == State(THREE, ((3, 6),), (2, 1), (3, 4), "opponent")


@pytest.mark.parametrize(
    ("fmt", "sets"),
    [
        (THREE, [[6, 0]]), (THREE, [[6, 4]]), (THREE, [[5, 7]]), (THREE, [[7, 6]]), (LONG, [[9, 7]]), (LONG, [[6, 4]]),
        (SUPER, [*LEVEL, [10, 7]]), (SUPER, [*LEVEL, [10, 12]]), (SHORT, [[4, 2]]), (SHORT, [[5, 3]]),
        (SHORT, [[5, 4]]), (SHORT_AT_THREE, [[4, 3]]), (SHORT_AT_THREE, [[4, 0]]),
    ],
)  # fmt: skip
def test_finished_sets_are_accepted(fmt, sets):
    assert read_score(fmt, {"sets": sets}).sets == tuple((own, opponent) for own, opponent in sets)


@pytest.mark.parametrize(
    ("fmt", "sets", "reason"),
    [
        (THREE, [[5, 6]], "6 games by two, 7-5 or 7-6"),
        (THREE, [[6, 5]], "7-5"),
        (THREE, [[7, 4]], "7-5"),
        (THREE, [[8, 6]], "7-6"),
        (THREE, [[0, 0]], "finished set"),
        (LONG, [[7, 6]], "by two"),
        (LONG, [[9, 6]], "by two"),
        (SUPER, [*LEVEL, [6, 4]], "match tie-break: 10"),
        (SUPER, [*LEVEL, [10, 9]], "by two"),
        (SUPER, [*LEVEL, [13, 10]], "by two"),
        (SHORT, [[4, 3]], "4 games by two, 5-3 or 5-4"),
        (SHORT_AT_THREE, [[5, 3]], "4 games by two, or 4-3"),
        (SHORT_AT_THREE, [[5, 4]], "4-3"),
    ],
)
def test_impossible_sets_are_refused_with_what_was_expected(fmt, sets, reason):
    (fault,) = faults_of(fmt, sets=sets)
    assert fault.path == ("sets", len(sets) - 1)
    assert fault.value == sets[-1]
    assert reason in fault.expected


def test_no_set_follows_a_decided_match():
    (fault,) = faults_of(THREE, sets=[[6, 4], [6, 4], [6, 4]])
    assert (fault.path, fault.expected) == (("sets", 2), "no set after the match is decided")


def test_sets_beyond_the_format_are_refused():
    assert faults_of(Format(sets=1), sets=[[6, 4], [4, 6]])[0].expected == "at most 1 sets"


@pytest.mark.parametrize(
    ("fmt", "sets", "games"),
    [
        (THREE, [], [6, 4]), (THREE, [], [7, 5]), (THREE, [], [7, 6]), (LONG, [], [8, 6]), (SUPER, LEVEL, [1, 0]),
        (SHORT, [], [5, 4]), (SHORT, [], [4, 2]), (SHORT_AT_THREE, [], [4, 3]),
    ],
)  # fmt: skip
def test_games_of_a_set_that_is_over_or_cannot_be_are_refused(fmt, sets, games):
    (fault,) = faults_of(fmt, sets=sets, games=games)
    assert (fault.path, fault.value) == (("games",), games)


@pytest.mark.parametrize("games", [[6, 5], [5, 6], [6, 6], [5, 5], [5, 0]])
def test_games_in_progress_are_accepted(games):
    assert read_score(THREE, {"games": games}).games == (games[0], games[1])


def test_an_advantage_set_goes_on_past_six_all():
    assert not read_score(LONG, {"games": [11, 11], "points": ["AD", "40"]}).in_tie_break


@pytest.mark.parametrize("points", [["AD", "15"], ["AD", "AD"], ["0", "AD"]])
def test_advantage_stands_only_against_forty(points):
    (fault,) = faults_of(THREE, points=points)
    assert (fault.path, fault.value, fault.expected) == (("points",), points, "AD only against 40")


def test_there_is_no_advantage_under_no_ad_scoring():
    (fault,) = faults_of(NO_AD, points=["AD", "40"])
    assert (fault.path, fault.expected) == (("points", 0), "one of 0, 15, 30, 40")


def test_tie_break_points_outside_a_tie_break_are_refused():
    faults = faults_of(THREE, games=[5, 6], points=["3", "5"])
    assert [fault.path for fault in faults] == [("points", 0), ("points", 1)]
    assert "tie-break" in faults[0].expected


@pytest.mark.parametrize("points", [["7", "5"], ["7", "0"], ["9", "7"], ["15", "0"], ["40", "30"]])
def test_a_tie_break_that_would_be_over_is_refused(points):
    (fault,) = faults_of(THREE, games=[6, 6], points=points)
    assert fault.path == ("points",)
    assert "to 7 by two" in fault.expected


@pytest.mark.parametrize("points", [["AD", "40"], ["-1", "0"], ["07", "6"], ["1.0", "0"], ["٣", "0"], ["", "0"]])
def test_tie_break_points_are_plain_numbers(points):
    assert faults_of(THREE, games=[6, 6], points=points)[0].path == ("points", 0)


def test_a_short_tie_break_stops_at_its_deciding_point():
    assert read_score(SHORT, {"games": [4, 4], "points": ["4", "4"]}).deciding_point
    assert "deciding point at 4 all" in faults_of(SHORT, games=[4, 4], points=["5", "5"])[0].expected


def test_a_match_tie_break_is_in_progress_at_sets_level_and_no_games():
    state = read_score(SUPER, {"sets": LEVEL, "games": [0, 0], "points": ["11", "10"], "server": "own"})
    assert state.in_tie_break
    assert state.points == (11, 10)


def test_a_decided_match_is_a_score_with_nobody_to_serve():
    state = read_score(THREE, {"sets": [[6, 4], [6, 4]], "games": [0, 0], "points": ["0", "0"], "server": "own"})
    assert (state.winner, state.server) == ("own", None)
    faults = faults_of(THREE, sets=[[6, 4], [6, 4]], games=[1, 0], points=["15", "0"])
    assert [fault.path for fault in faults] == [("games",), ("points",)]


def test_all_faults_of_a_score_come_together():
    faults = faults_of(THREE, sets=[[6, 5], [7, 4], "6-4"], games=[1], server="us", ends="north")
    assert {fault.path for fault in faults} == {
        ("sets", 0),
        ("sets", 1),
        ("sets", 2),
        ("games",),
        ("server",),
        ("ends",),
    }
    faults = faults_of(THREE, sets=[[6, 4]], games=[9, 1], points="15-0", server=1)
    assert {fault.path for fault in faults} == {("games",), ("points",), ("server",)}
    assert "sets.0: [6, 5], expected" in str(ScoreError(faults_of(THREE, sets=[[6, 5]])))


@pytest.mark.parametrize("pair", [[True, 0], [1.0, 0], ["1", "0"], [-1, 0], [1000, 0], [0, 0, 0], 3, {"own": 1}])
def test_a_pair_is_two_whole_numbers(pair):
    assert faults_of(THREE, games=pair)[0].path == ("games",)
    assert faults_of(THREE, sets=[pair])[0].path == ("sets", 0)


@pytest.mark.parametrize("wire", [[], "6-4", 7])
def test_a_score_is_an_object(wire):
    with pytest.raises(ScoreError, match="an object"):
        read_score(THREE, wire)


@pytest.mark.parametrize("value", ["6-4", 3, {"0": [6, 4]}])
def test_sets_are_a_list(value):
    assert faults_of(THREE, sets=value)[0].path == ("sets",)
