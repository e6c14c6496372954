"""What a person reads of the worth of a line, and of what was seen."""

from collections.abc import Callable

import pytest

from tacticapi.cli.text import estimate_words, seen_lines, suggestion_text
from tacticapi.domain.advice import SourceLine, Suggestion, Worth
from tacticapi.domain.reasoning import Estimate
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Situation, Wing


def a_line(worth: Worth | None) -> str:
    source = SourceLine("common practice")
    line = Suggestion(
        1, "lob", "rally", "Lob", "Lob.", "It is high.", (), (), "They wait.", "Look again.", "low", None, (),
        source, (source,), worth,
    )  # fmt: skip
    return suggestion_text(line)


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ("large", "a large gain; it pays against 8 in 10 such players"),
        ("some", "some gain; it pays against 8 in 10 such players"),
        ("small", "a small gain; it pays against 8 in 10 such players"),
        ("unclear", "an unclear gain; it pays against 8 in 10 such players"),
    ],
)
def test_the_worth_of_a_line_is_told_by_its_size_and_by_how_often_it_pays(size: str, words: str) -> None:
    assert f"Worth       {words}\n" in a_line(Worth(size, 0.79, 0.0123, 0.04, -0.01, 0.08))


def test_a_line_that_sends_no_ball_claims_no_worth() -> None:
    assert "Worth" not in a_line(None)


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
