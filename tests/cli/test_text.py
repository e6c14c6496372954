"""What a person reads of a gain, and of what was seen."""

from collections.abc import Callable

import pytest

from tacticapi.cli.text import estimate_words, gain_words, seen_lines
from tacticapi.domain.advice import Gain
from tacticapi.domain.reasoning import Estimate
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Situation, Wing


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
    ("says", "hits", "chances", "words"),
    [
        ("backhand errors", 5.0, 14.0, "backhand errors: 24 in 100 (17 to 32), usual 20; seen 5 of 14"),
        ("high balls handled", 0.0, 0.0, "high balls handled (backhand): 24 in 100 (17 to 32), usual 20"),
    ],
)
def test_a_quality_is_told_in_shares_of_a_hundred(says: str, hits: float, chances: float, words: str) -> None:
    share = (0.2, 0.241, 0.171, 0.319)
    one = Estimate("wing", "opponent", Wing.BACKHAND, "rally.backhand_errors", says, *share, hits, chances)
    assert estimate_words(one) == words


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
