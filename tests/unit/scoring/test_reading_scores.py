"""Scores and formats as a request states them: what is read, and what is refused, where and with what was expected."""

import pytest

from tacticapi.scoring.formats import Fault, Format, ScoreError
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.score import State, after

THREE = Format()
SUPER = Format(final_set="match-tie-break-10")
LONG = Format(set="advantage")
SHORT = Format(games=4)
SHORT_AT_THREE = Format(games=4, tie_break_at=3)
LEVEL = [[6, 4], [4, 6]]
DECIDED = [[6, 4], [6, 4]]
PAIR = "[own, opponent], two whole numbers from 0 to 999"
OBJECT = "an object with sets, games, points and server"


def refusal(read, *asked):
    with pytest.raises(ScoreError) as refused:
        read(*asked)
    assert isinstance(refused.value, ValueError)
    return [(fault.path, fault.value, fault.expected) for fault in refused.value.faults]


def test_nothing_said_is_the_start_of_a_match():
    assert read_score(THREE, None) == read_score(THREE, {}) == State(THREE)
    assert read_score(THREE, {"sets": None, "games": None, "points": None, "server": None}) == State(THREE)


def test_counts_up_to_999_are_read():
    """Law sets no end to an advantage set or a tie-break."""
    state = read_score(LONG, {"sets": ((999, 997),), "games": (998, 999), "points": ("40", "AD")})
    assert (state.sets, state.games, state.points) == (((999, 997),), (998, 999), (3, 4))
    assert read_score(THREE, {"games": [6, 6], "points": ["999", "998"]}).points == (999, 998)
    assert refusal(read_score, LONG, {"games": [1000, 999]}) == [(("games",), [1000, 999], PAIR)]


@pytest.mark.parametrize(
    ("fmt", "before", "wrong", "expected"),
    [
        (THREE, [], [[5, 6], [6, 5], [7, 4], [8, 6], [0, 0]], "a finished set: 6 games by two, 7-5 or 7-6"),
        (THREE, [[6, 4]], [[6], [True, 0], [1.0, 0], ["1", "0"], [-1, 0], [1000, 0], [0, 0, 0], 3, "6-4", {"own": 1}],
         PAIR),
        (LONG, [], [[7, 6], [9, 6]], "a finished advantage set: 6 games, or more if level at 5, by two"),
        (SHORT, [], [[4, 3]], "a finished set: 4 games by two, 5-3 or 5-4"),
        (SHORT_AT_THREE, [], [[5, 3], [5, 4]], "a finished set: 4 games by two, or 4-3"),
        (SUPER, LEVEL, [[6, 4], [10, 9], [13, 10], [9, 7]],
         "the points of a finished match tie-break: 10, or more if level at 9, by two"),
        (THREE, DECIDED, [[6, 4]], "no set after the match is decided"),
    ],
)  # fmt: skip
def test_a_set_that_cannot_be_is_refused(fmt, before, wrong, expected):
    for last in wrong:
        assert refusal(read_score, fmt, {"sets": [*before, last]}) == [(("sets", len(before)), last, expected)]


def test_sets_are_a_list_of_as_many_as_the_format_has():
    lists = [(THREE, wrong, "a list of [own, opponent] pairs") for wrong in ("6-4", 3, {"0": [6, 4]})]
    lists += [(THREE, [*LEVEL, [6, 4], [6, 4]], "at most 3 sets"), (Format(sets=1), LEVEL, "at most 1 sets")]
    for fmt, sets, expected in lists:
        assert refusal(read_score, fmt, {"sets": sets}) == [(("sets",), sets, expected)]


BELONGS = "a finished set belongs in sets"


@pytest.mark.parametrize(
    ("fmt", "sets", "wrong", "expected"),
    [
        (THREE, [], [[6, 4], [7, 5], [7, 6]], f"games of a set in progress: to 6 by two, at most 6 each; {BELONGS}"),
        (SHORT, [], [[5, 4], [4, 2]], f"games of a set in progress: to 4 by two, at most 4 each; {BELONGS}"),
        (SHORT_AT_THREE, [], [[4, 3]], f"games of a set in progress: to 4 by two, at most 3 each; {BELONGS}"),
        (LONG, [], [[8, 6]], f"games of a set in progress: to 6 by two; {BELONGS}"),
        (SUPER, LEVEL, [[1, 0]], "0-0 in games during a match tie-break"),
        (THREE, [], [[-1, 0], [True, 0], ["1", "0"], 3, {"own": 1}], PAIR),
        (THREE, DECIDED, [[1, 0]], "nothing after the match is decided"),
    ],
)
def test_games_of_a_set_that_is_over_or_cannot_be_are_refused(fmt, sets, wrong, expected):
    for games in wrong:
        assert refusal(read_score, fmt, {"sets": sets, "games": games}) == [(("games",), games, expected)]


@pytest.mark.parametrize(
    ("fmt", "games", "wrong", "place", "expected"),
    [
        (THREE, [0, 0], ["15-0", ["15"], [15, "0"]], (), "[own, opponent], two strings"),
        (THREE, [0, 0], [["0", "love"]], (1,), "one of 0, 15, 30, 40, AD"),
        (THREE, [0, 0], [["3", "0"]], (0,), "one of 0, 15, 30, 40, AD; plain numbers belong to a tie-break"),
        (THREE, [0, 0], [["AD", "15"], ["AD", "AD"], ["0", "AD"], ["AD", "30"]], (), "AD only against 40"),
        (Format(no_ad=True), [0, 0], [["40", "AD"]], (1,), "one of 0, 15, 30, 40"),
        (THREE, [6, 6], [["AD", "3"], ["-1", "0"], ["07", "6"], ["1.0", "0"], ["٣", "0"], ["", "0"]], (0,),
         "a plain number as a string, as in a tie-break"),
        (THREE, [6, 6], [["7", "5"], ["7", "0"], ["9", "7"], ["15", "0"], ["40", "30"]], (),
         "points of a tie-break in progress, to 7 by two"),
        (SHORT, [4, 4], [["5", "5"]], (), "points of a tie-break in progress, to 5 with a deciding point at 4 all"),
    ],
)  # fmt: skip
def test_points_that_cannot_be_are_refused(fmt, games, wrong, place, expected):
    for points in wrong:
        value = points[place[0]] if place else points
        told = refusal(read_score, fmt, {"games": games, "points": points})
        assert told == [(("points", *place), value, expected)]


def test_a_decided_match_is_a_score_with_nobody_to_serve_and_nothing_follows_but_nil():
    state = read_score(THREE, {"sets": DECIDED, "games": (0, 0), "points": ("0", "0"), "server": "own"})
    assert (state.winner, state.server) == ("own", None)
    after_it = [(("games",), [1, 0]), (("points",), ["15", "0"])]
    told = refusal(read_score, THREE, {"sets": DECIDED, **{path[0]: value for path, value in after_it}})
    assert told == [(path, value, "nothing after the match is decided") for path, value in after_it]


@pytest.mark.parametrize(
    ("score", "told"),
    [
        ({"ends": "north", "server": "us"}, [
            (("ends",), "north", "one of sets, games, points, server, serve"),
            (("server",), "us", "own, opponent or null"),
        ]),
        # only as counts: which games and points can stand depends on the sets, so those wait
        ({"sets": [[6, 5]], "games": "6-5", "points": ["50", "0"]}, [
            (("sets", 0), [6, 5], "a finished set: 6 games by two, 7-5 or 7-6"), (("games",), "6-5", PAIR),
        ]),
        ({"sets": [[6, 5]], "games": [6, 4], "points": ["50", "0"]}, [
            (("sets", 0), [6, 5], "a finished set: 6 games by two, 7-5 or 7-6"),
        ]),
        ({"points": ["3", "5"], "games": [5, 6]}, [
            (("points", place), text, "one of 0, 15, 30, 40, AD; plain numbers belong to a tie-break")
            for place, text in enumerate(("3", "5"))
        ]),
    ],
)  # fmt: skip
def test_all_faults_of_a_score_come_together(score, told):
    assert refusal(read_score, THREE, score) == told


@pytest.mark.parametrize("wire", [[], "6-4", 7])
def test_a_score_is_an_object(wire):
    assert refusal(read_score, THREE, wire) == [((), wire, OBJECT)]
    assert str(ScoreError([Fault((), wire, OBJECT)])) == f"score: {wire!r}, expected {OBJECT}"


@pytest.mark.parametrize(
    ("field", "value", "expected"),
    [
        ("sets", 2, "one of 1, 3, 5"),
        ("games", 8, "one of 4, 6"),
        ("games", True, "one of 4, 6"),
        ("tie_break_at", 4, "one of 5, 6"),
        ("set", "pro", "one of tie-break-7, advantage"),
        ("final_set", ["advantage"],
         "one of tie-break-7, tie-break-10, advantage, match-tie-break-7, match-tie-break-10"),
        ("no_ad", "yes", "true or false"),
        ("tie_break_points", 10, "one of 5, 7"),
        ("tie_break_ends", "never", "one of every-6, after-1-then-every-4"),
        ("lets", True,
         "one of sets, games, tie_break_at, set, final_set, no_ad, tie_break_points, tie_break_ends"),
    ],
)  # fmt: skip
def test_a_refused_format(field, value, expected):
    assert refusal(Format.from_wire, {field: value}) == [((field,), value, expected)]


def test_a_tie_break_of_short_sets_comes_at_three_or_four_all():
    told = refusal(Format.from_wire, {"games": 4, "tie_break_at": 6, "lets": True})
    assert [path for path, *_ in told] == [("lets",), ("tie_break_at",)]
    assert told[1] == (("tie_break_at",), 6, "one of 3, 4")
    assert str(ScoreError([Fault(*one) for one in told])).endswith("; tie_break_at: 6, expected one of 3, 4")


@pytest.mark.parametrize("wire", [[], "best of three", 3])
def test_a_format_is_an_object(wire):
    assert refusal(Format.from_wire, wire) == [((), wire, "an object with the fields of a format")]


@pytest.mark.parametrize(
    ("state", "winner", "expected"),
    [
        (State(THREE), "us", "own or opponent"),
        (State(THREE, ((6, 4), (6, 4))), "own", "no point after the match is decided"),
    ],
)
def test_a_point_that_nobody_can_win(state, winner, expected):
    assert refusal(after, state, winner) == [(("winner",), winner, expected)]
