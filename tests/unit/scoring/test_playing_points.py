"""Playing points: every score that can come up is accepted, and server, court and ends follow the rules."""

from itertools import pairwise

import pytest
from hypothesis import given, settings

from tacticapi.scoring.formats import Format, other
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.score import (
    State,
    after,
    ends_change_after_game,
    games_completed,
    is_change_of_ends,
    next_point,
    place,
    points_to_end_change,
)

from ...scores import play
from .played_matches import played

SUPER = Format(final_set="match-tie-break-10")
SHORT = Format(games=4)


def points(text):
    """Winners from a text such as "o o x": o for own, x for the opponent."""
    return ["own" if letter == "o" else "opponent" for letter in text if letter in "ox"]


def games(text):
    """Four straight points for each letter."""
    return [winner for winner in points(text) for _ in range(4)]


@given(played())
@settings(max_examples=150, deadline=None)
def test_every_score_that_comes_up_reads_back_as_itself(states):
    for state in (states[0], states[len(states) // 2], states[-1]):
        assert read_score(state.format, state.to_wire()) == state


@given(played())
@settings(max_examples=60, deadline=None)
def test_serve_and_court_change_as_the_rules_say(states):
    """Rules of Tennis, Rules 5, 8 and 14: the serve changes after each game, in a tie-break after one, then two."""
    for before, state in pairwise(states):
        if state.winner is not None:
            assert (state.server, next_point(state).courts) == (None, ())
            continue
        if state.server is None:
            assert before.server is None
        elif state.points == (0, 0) and not before.in_tie_break:
            assert state.server == other(before.first_server_of_game or "own")
        elif state.in_tie_break and state.points != (0, 0):
            assert (state.server != before.server) == (sum(before.points) % 2 == 0)
        else:
            assert before.in_tie_break or state.server == before.server
        courts = next_point(state).courts
        if state.deciding_point:
            assert courts == ("deuce", "ad")
        else:
            assert courts == (("deuce", "ad")[sum(state.points) % 2],)


@given(played())
@settings(max_examples=60, deadline=None)
def test_the_stakes_of_a_point_are_what_playing_it_shows(states):
    for before, state in pairwise(states):
        winner = "own" if after(before, "own") == state else "opponent"
        stake = next_point(before)
        ended = (before.sets, before.games) != (state.sets, state.games)
        assert (winner in stake.game_point) == ended
        assert (winner in stake.set_point) == (before.sets != state.sets)
        assert (winner in stake.match_point) == (state.winner == winner)
        if before.server is not None and not before.in_tie_break:
            assert stake.break_point is not None
            assert (winner in stake.break_point) == (ended and winner != before.server)


@given(played())
@settings(max_examples=60, deadline=None)
def test_players_change_ends_where_the_game_before_said_so(states):
    for before, state in pairwise(states):
        if games_completed(state) > games_completed(before) and state.winner is None:
            assert games_completed(state) == games_completed(before) + 1
            assert is_change_of_ends(state) == ends_change_after_game(before)
        elif state.winner is None:
            left = points_to_end_change(before)
            assert is_change_of_ends(state) == (left == 1)
        assert place(before) <= place(state)


def test_a_match_is_played_to_its_end_and_nobody_serves_then():
    last = play(Format(), games("o" * 12), "opponent")[-1]
    assert (last.sets, last.games, last.points) == (((6, 0), (6, 0)), (0, 0), (0, 0))
    assert (last.winner, last.server, place(last)) == ("own", None, (2, 6))
    assert not is_change_of_ends(last)
    assert next_point(last).match_point == ()


def test_who_served_first_in_a_tie_break_receives_first_in_the_next_set():
    level = play(Format(), games("ox" * 6), "own")[-1]
    assert (level.in_tie_break, level.server) == (True, "own")
    for text in ("ooooooo", "oxoxoxoxoxoxoo", "xxxxxxx"):
        states = [level]
        for winner in points(text):
            states.append(after(states[-1], winner))
        assert (len(states[-1].sets), states[-1].server) == (1, "opponent")


@pytest.mark.parametrize(
    ("score", "server", "points"),
    [
        (State(Format(), (), (2, 1), (3, 0)), "own", ("own", "", "", "")),
        (State(Format(), (), (2, 1), (3, 0)), "opponent", ("own", "own", "", "")),
        (State(Format(), (), (5, 1), (3, 2)), "own", ("own", "", "own", "")),
        (State(Format(), ((4, 6),), (4, 5), (3, 4)), "own", ("opponent", "opponent", "opponent", "opponent")),
        (State(Format(no_ad=True), ((6, 4),), (5, 5), (3, 3)), "own", ("own opponent", "opponent", "", "")),
        (State(Format(), (), (6, 6), (6, 5)), "own", ("own", "", "own", "")),
        (State(SHORT, ((4, 2),), (4, 4), (4, 4)), "own", ("own opponent", "", "own opponent", "own")),
        (State(Format(), (), (2, 1), (3, 3)), "own", ("", "", "", "")),
    ],
)
def test_game_break_set_and_match_points_are_named(score, server, points):
    """points: for whom the next one is a game, break, set and match point; without a server a break is unknown."""
    stake = next_point(read_score(score.format, score.to_wire() | {"server": server}))
    told = (stake.game_point, stake.break_point, stake.set_point, stake.match_point)
    assert told == tuple(tuple(whose.split()) for whose in points)
    assert stake.server == server
    assert next_point(State(Format(), points=(3, 0))).break_point is None


@pytest.mark.parametrize(
    ("state", "change"),
    [
        (State(Format()), False),
        (State(Format(), games=(1, 0)), True),
        (State(Format(), games=(1, 1)), False),
        (State(Format(), games=(2, 1)), True),
        (State(Format(), games=(2, 1), points=(1, 0)), False),
        (State(Format(), sets=((6, 3),)), True),
        (State(Format(), sets=((6, 4),)), False),
        (State(Format(), sets=((7, 6),)), True),
        (State(Format(), games=(6, 6)), False),
        (State(Format(), games=(6, 6), points=(4, 2)), True),
        (State(Format(), games=(6, 6), points=(4, 1)), False),
        (State(Format(tie_break_ends="after-1-then-every-4"), games=(6, 6), points=(1, 0)), True),
        (State(Format(tie_break_ends="after-1-then-every-4"), games=(6, 6), points=(3, 2)), True),
        (State(Format(tie_break_ends="after-1-then-every-4"), games=(6, 6), points=(3, 3)), False),
        (State(SHORT, games=(4, 4), points=(2, 2)), True),
        (State(SHORT, games=(4, 4), points=(4, 4)), False),
    ],
)
def test_ends_change_after_odd_games_and_within_tie_breaks(state, change):
    """Rules of Tennis, Rule 10 and appendix V."""
    assert is_change_of_ends(state) is change


def test_points_are_counted_down_to_the_next_change_of_ends_and_a_short_tie_break_changes_once():
    def left(fmt, all_games):
        return [points_to_end_change(State(fmt, games=(all_games,) * 2, points=(n - n // 2, n // 2))) for n in range(9)]

    assert left(Format(tie_break_ends="every-6"), 6) == [6, 5, 4, 3, 2, 1, 6, 5, 4]
    assert left(Format(tie_break_ends="after-1-then-every-4"), 6) == [1, 4, 3, 2, 1, 4, 3, 2, 1]
    assert left(SHORT, 4) == [4, 3, 2, 1, None, None, None, None, None]
    assert points_to_end_change(State(SHORT)) is None
    assert not ends_change_after_game(State(SUPER, ((6, 4), (4, 6))))  # nobody does after the last one of a match
    assert ends_change_after_game(State(Format(), games=(6, 6)))
