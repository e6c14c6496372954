"""An observation dated by its set or its game alone, and how it ages."""

from collections.abc import Callable
from typing import Any

import pytest

from tacticapi.domain.situation import Situation
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.scoring import Format, read_score

Write = Callable[..., Situation]
RUN_ROUND = {"what": "rally.ran_round_backhand", "count": 6, "of": 8}
SECOND_SET = {"sets": [[6, 4]], "games": [3, 1], "points": ["0", "0"], "server": "own"}


@pytest.mark.parametrize(
    ("where", "games_ago"),
    [
        ({"game": 2}, 2),  # of the set being played
        ({"set": 1}, 4),  # by the end of that set
        ({"set": 2}, 0),
        ({}, 0),
    ],
)
def test_with_a_score_the_rest_of_the_date_is_that_of_the_set_in_play_or_its_last_game(
    evidence: EvidenceModel, situation: Write, where: dict[str, int], games_ago: int
) -> None:
    asked = situation(score=SECOND_SET, observations=[{**RUN_ROUND, **where}])
    (entry,) = evidence.believe(asked, read_score(Format.from_wire(None), asked.score)).entries
    assert entry.weight == pytest.approx(2 ** (-games_ago / 5))


def ages(evidence: EvidenceModel, situation: Write, *dates: dict[str, Any]) -> list[float]:
    asked = situation(observations=[{**RUN_ROUND, **where} for where in dates])
    return [entry.weight for entry in evidence.believe(asked).entries]


def test_without_a_score_a_game_alone_is_of_the_first_set(evidence: EvidenceModel, situation: Write) -> None:
    """Game 4 of the first set is eight games before game 3 of the second, as nine games are assumed in a set."""
    told = ages(evidence, situation, {"game": 4}, {"set": 2, "game": 3})
    assert told == pytest.approx([2 ** (-8 / 5), 1.0])


def test_without_a_score_a_set_alone_is_its_beginning(evidence: EvidenceModel, situation: Write) -> None:
    told = ages(evidence, situation, {"set": 2}, {"set": 2, "game": 3})
    assert told == pytest.approx([2 ** (-3 / 5), 1.0])


def test_the_latest_game_may_be_one_dated_in_part(evidence: EvidenceModel, situation: Write) -> None:
    told = ages(evidence, situation, {"game": 6}, {"set": 1, "game": 2})
    assert told == pytest.approx([1.0, 2 ** (-4 / 5)])
