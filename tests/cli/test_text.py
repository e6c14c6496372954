"""What a person reads of a gain, and of what was seen."""

from collections.abc import Callable

import pytest

from tacticapi.cli.text import gain_words, seen_lines
from tacticapi.domain.advice import Gain
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Situation


@pytest.mark.parametrize(
    ("gain", "words"),
    [
        (Gain(0.0123), "+1.23 points in 100"),
        (Gain(0.0123, 0.04, -0.01, 0.08), "+1.23 points in 100; +4.0 % of the match (8 in 10: -1.0 to +8.0)"),
    ],
)
def test_a_gain_is_told_in_points_and_in_the_match_where_that_is_priced(gain: Gain, words: str) -> None:
    assert gain_words(gain) == words


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"what": "serve.tell", "seen": True}, "serves predicted right from toss or stance: yes"),
        ({"what": "serve.leaves_side", "seen": False}, "leaves one side early after serving: no"),
    ],
)
def test_a_sign_is_told_as_seen_or_not(
    situation: Callable[..., Situation], rulebook: Rulebook, said: dict[str, object], words: str
) -> None:
    assert seen_lines(situation(observations=[said]), rulebook) == [words]
