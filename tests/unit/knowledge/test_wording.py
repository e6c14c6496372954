"""Rule texts speak of your opponent, of they, and of wings."""

import pytest

from tacticapi.knowledge.wording import wording_faults


@pytest.mark.parametrize(
    "text",
    ["her serve", "He waits.", "left of the body", "aim at the right corner", "Serve to the left.", "their left side"],
)
def test_a_text_that_speaks_of_one_gender_or_of_left_and_right_is_faulty(text: str) -> None:
    ((place, _, _),) = wording_faults({"unless": [{"why": text}]})
    assert place == ("unless", 0, "why")


@pytest.mark.parametrize(
    "text",
    [
        "There the shell rests.",
        "a left-hander's serve",
        "get to the right spot",
        "what is left",
        "Theirs is the choice.",
    ],
)
def test_other_texts_stand(text: str) -> None:
    assert list(wording_faults({"say": text, "id": "her"})) == []
