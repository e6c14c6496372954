"""The score in one line: what the next point is for whom, and who serves it where."""

from typing import Any

import pytest

from tacticapi.advice.words import score_line
from tacticapi.scoring import Format, State, next_point

NO_AD = Format(no_ad=True)


@pytest.mark.parametrize(
    ("state", "line"),
    [
        (State(Format(), ((6, 4), (6, 3)), (0, 0), (0, 0), None), "the match is over: you won"),
        (State(Format(), ((4, 6), (3, 6)), (0, 0), (0, 0), None), "the match is over: your opponent won"),
        (State(Format(), (), (0, 0), (0, 0), None), "an open point, worth 0.25 of the match"),
        (
            State(NO_AD, (), (2, 2), (3, 3), "own"),
            "break point against you, worth 0.25 of the match; you serve to either court (the receiver chooses)",
        ),
        (
            State(Format(), ((6, 4),), (5, 4), (3, 1), "opponent"),
            "match point for you, worth 0.25 of the match; your opponent serves to the deuce court",
        ),
        (
            State(Format(), (), (6, 6), (1, 1), "own"),
            "tie-break point, worth 0.25 of the match; you serve to the deuce court",
        ),
        (
            State(Format(sets=1, final_set="tie-break-7", no_ad=True), (), (2, 2), (3, 2), "own"),
            "game point for you, worth 0.25 of the match; you serve to the ad court",
        ),
        (
            State(Format(games=4), (), (4, 4), (4, 4), "own"),
            "set point for both, worth 0.25 of the match; you serve to either court (the receiver chooses)",
        ),
    ],
)
def test_the_line_says_for_whom_the_point_is_what_and_who_serves_where(state: Any, line: str) -> None:
    assert score_line(state, next_point(state), 0.25) == line
