"""Refusals in full: where the fault is, what was said, and what was expected, as a client reads them."""

from __future__ import annotations

from typing import Any

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


def refusal(fmt: Format, score: dict[str, Any]) -> list[tuple[Any, ...]]:
    with pytest.raises(ScoreError) as refused:
        read_score(fmt, score)
    return [(fault.path, fault.value, fault.expected) for fault in refused.value.faults]


@pytest.mark.parametrize(
    ("fmt", "sets", "place", "expected"),
    [
        (THREE, "6-4", (), "a list of [own, opponent] pairs"),
        (THREE, [[6, 5]], (0,), "a finished set: 6 games by two, 7-5 or 7-6"),
        (THREE, [[6, 4], [6]], (1,), PAIR),
        (LONG, [[7, 6]], (0,), "a finished advantage set: 6 games, or more if level at 5, by two"),
        (SHORT, [[4, 3]], (0,), "a finished set: 4 games by two, 5-3 or 5-4"),
        (SHORT_AT_THREE, [[5, 3]], (0,), "a finished set: 4 games by two, or 4-3"),
        (SUPER, [*LEVEL, [9, 7]], (2,), "the points of a finished match tie-break: 10, or more if level at 9, by two"),
        (THREE, [*DECIDED, [6, 4]], (2,), "no set after the match is decided"),
        (THREE, [*LEVEL, [6, 4], [6, 4]], (), "at most 3 sets"),
    ],
)
def test_a_refused_set(fmt, sets, place, expected):
    assert refusal(fmt, {"sets": sets}) == [(("sets", *place), sets[place[0]] if place else sets, expected)]


@pytest.mark.parametrize(
    ("fmt", "sets", "games", "expected"),
    [
        (THREE, [], [6, 4], "games of a set in progress: to 6 by two, at most 6 each; a finished set belongs in sets"),
        (SHORT_AT_THREE, [], [4, 3],
         "games of a set in progress: to 4 by two, at most 3 each; a finished set belongs in sets"),
        (LONG, [], [8, 6], "games of a set in progress: to 6 by two; a finished set belongs in sets"),
        (SUPER, LEVEL, [1, 0], "0-0 in games during a match tie-break"),
        (THREE, [], [-1, 0], PAIR),
        (THREE, DECIDED, [1, 0], "nothing after the match is decided"),
    ],
)  # fmt: skip
def test_refused_games(fmt, sets, games, expected):
    assert refusal(fmt, {"sets": sets, "games": games}) == [(("games",), games, expected)]


@pytest.mark.parametrize(
    ("fmt", "games", "points", "place", "expected"),
    [
        (THREE, [0, 0], "15-0", (), "[own, opponent], two texts"),
        (THREE, [0, 0], ["15"], (), "[own, opponent], two texts"),
        (THREE, [0, 0], [15, "0"], (), "[own, opponent], two texts"),
        (THREE, [0, 0], ["0", "love"], (1,), "one of 0, 15, 30, 40, AD"),
        (THREE, [0, 0], ["3", "0"], (0,), "one of 0, 15, 30, 40, AD; plain numbers belong to a tie-break"),
        (THREE, [0, 0], ["AD", "30"], (), "AD only against 40"),
        (Format(no_ad=True), [0, 0], ["40", "AD"], (1,), "one of 0, 15, 30, 40"),
        (THREE, [6, 6], ["AD", "3"], (0,), "a plain number as text, as in a tie-break"),
        (THREE, [6, 6], ["7", "5"], (), "points of a tie-break in progress, to 7 by two"),
        (SHORT, [4, 4], ["5", "5"], (), "points of a tie-break in progress, to 5 with a deciding point at 4 all"),
    ],
)
def test_refused_points(fmt, games, points, place, expected):
    value = points[place[0]] if place else points
    assert refusal(fmt, {"games": games, "points": points}) == [(("points", *place), value, expected)]


def test_a_refused_server_and_an_unknown_word():
    assert refusal(THREE, {"ends": "north", "server": "us"}) == [
        (("ends",), "north", "one of sets, games, points, server, serve"),
        (("server",), "us", "own, opponent or null"),
    ]


def test_games_are_judged_even_where_the_sets_are_refused():
    """Only as counts: which games and points can stand depends on the sets, so those wait."""
    faults = refusal(THREE, {"sets": [[6, 5]], "games": "6-5", "points": ["50", "0"]})
    assert [path for path, _, _ in faults] == [("sets", 0), ("games",)]
    assert faults[1] == (("games",), "6-5", PAIR)
    assert len(refusal(THREE, {"sets": [[6, 5]], "games": [6, 4], "points": ["50", "0"]})) == 1


def test_points_after_the_end_of_a_match_are_refused_and_nil_is_not():
    assert refusal(THREE, {"sets": DECIDED, "points": ["15", "0"]}) == [
        (("points",), ["15", "0"], "nothing after the match is decided")
    ]
    assert read_score(THREE, {"sets": DECIDED, "games": (0, 0), "points": ("0", "0")}).winner == "own"


def test_a_score_that_is_no_object():
    with pytest.raises(ScoreError) as refused:
        read_score(THREE, "6-4")  # type: ignore[arg-type]
    assert refused.value.faults == (Fault((), "6-4", "an object with sets, games, points and server"),)
    assert str(refused.value) == "score: '6-4', expected an object with sets, games, points and server"


def test_counts_up_to_999_are_read():
    """Law sets no end to an advantage set or a tie-break."""
    state = read_score(LONG, {"sets": ((999, 997),), "games": (998, 999), "points": ("40", "AD")})
    assert (state.sets, state.games, state.points) == (((999, 997),), (998, 999), (3, 4))
    assert read_score(THREE, {"games": [6, 6], "points": ["999", "998"]}).points == (999, 998)
    assert refusal(LONG, {"games": [1000, 999]}) == [(("games",), [1000, 999], PAIR)]


@pytest.mark.parametrize(
    ("field", "value", "expected"),
    [
        ("sets", 2, "one of 1, 3, 5"),
        ("games", 8, "one of 4, 6"),
        ("tie_break_at", 4, "one of 5, 6"),
        ("set", "pro", "one of tie-break-7, advantage"),
        ("final_set", "tie-break-12",
         "one of tie-break-7, tie-break-10, advantage, match-tie-break-7, match-tie-break-10"),
        ("no_ad", "yes", "true or false"),
        ("tie_break_points", 10, "one of 5, 7"),
        ("tie_break_ends", "never", "one of every-6, after-1-then-every-4"),
        ("lets", True,
         "one of sets, games, tie_break_at, set, final_set, no_ad, tie_break_points, tie_break_ends"),
    ],
)  # fmt: skip
def test_a_refused_format(field, value, expected):
    with pytest.raises(ScoreError) as refused:
        Format.from_wire({field: value})
    assert refused.value.faults == (Fault((field,), value, expected),)


def test_a_tie_break_of_short_sets_comes_at_three_or_four_all():
    with pytest.raises(ScoreError) as refused:
        Format.from_wire({"games": 4, "tie_break_at": 6, "lets": True})
    assert [fault.path for fault in refused.value.faults] == [("lets",), ("tie_break_at",)]
    assert refused.value.faults[1] == Fault(("tie_break_at",), 6, "one of 3, 4")
    assert str(refused.value).endswith("; tie_break_at: 6, expected one of 3, 4")


def test_a_format_that_is_no_object():
    with pytest.raises(ScoreError) as refused:
        Format.from_wire(3)  # type: ignore[arg-type]
    assert refused.value.faults == (Fault((), 3, "an object with the fields of a format"),)


def test_a_point_that_nobody_can_win():
    over = State(THREE, ((6, 4), (6, 4)))
    for state, winner, expected in (
        (State(THREE), "us", "own or opponent"),
        (over, "own", "no point after the match is decided"),
    ):
        with pytest.raises(ScoreError) as refused:
            after(state, winner)  # type: ignore[arg-type]
        assert refused.value.faults == (Fault(("winner",), winner, expected),)
