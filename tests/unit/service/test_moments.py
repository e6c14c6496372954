"""The moment that a match is at follows from its score, so that nobody has to say it during play."""

from typing import Any

import pytest

from tacticapi.club.scorekeeping import moment_of
from tacticapi.domain.terms import Moment
from tacticapi.scoring import Format, read_score


@pytest.mark.parametrize(
    ("score", "moment"),
    [
        ({"games": [0, 0], "points": ["15", "0"]}, Moment.BETWEEN_POINTS),
        ({"games": [1, 0]}, Moment.CHANGE_OF_ENDS),
        ({"games": [1, 1]}, Moment.BETWEEN_POINTS),
        ({"games": [2, 1], "points": ["0", "15"]}, Moment.BETWEEN_POINTS),
        ({"sets": [[6, 4]]}, Moment.SET_BREAK),
        ({"sets": [[6, 3]]}, Moment.SET_BREAK),  # ends change too: the longer break is the one that counts
        ({"sets": [[6, 3]], "points": ["15", "0"]}, Moment.BETWEEN_POINTS),
        ({"games": [6, 6], "points": ["4", "2"]}, Moment.CHANGE_OF_ENDS),
        ({"games": [6, 6], "points": ["4", "3"]}, Moment.BETWEEN_POINTS),
        ({"sets": [[6, 3], [6, 3]]}, Moment.AFTER_MATCH),
    ],
)
def test_breaks_and_the_end_follow_from_the_score(score: dict[str, Any], moment: Moment) -> None:
    assert moment_of(read_score(Format(), score)) is moment


def test_before_the_first_point_it_is_the_warm_up() -> None:
    assert moment_of(None) is Moment.AFTER_WARM_UP
