"""Advice as a terminal and a notebook show it: safety first, ranked, every reason, and nothing that could run."""

import re
from typing import Any

import pytest

from tacticapi.client import Advice
from tacticapi.client.shown import Text

from ..api.page import Page as Read

SOURCE = {"status": "common practice", "key": None, "citation": None, "backs": None}
SAFETY = {"tactic": "heat", "say": "Stop in the shade.", "why": "It is hot.", "caution": "Follow the local code."}
LINE: dict[str, Any] = {
    "rank": 1, "tactic": "high-to-the-backhand", "category": "rally", "title": "High to the <b>backhand</b>",
    "say": "Heavy and high to the backhand.", "why": "It is hard to hit down from there.",
    "because": [{"text": "missed 4 of 5 above the shoulder"}],
    "worth": {"size": "large", "pays_in": 0.81, "point": 0.031, "match": 0.042, "match_low": 0.01, "match_high": 0.07},
    "not_if": "They step in.", "stop_when": "Look again after 4 lost of 6.", "risk": "low", "sources": [SOURCE],
    "targets": [{"court": "ad", "spot": "wide", "wing": "backhand"}],
}  # fmt: skip
ADVICE = Advice(
    {"advice_id": "a", "moment": "change-of-ends", "rulebook": {"version": "1", "digest": "sha256:0"}, "changed": []},
    safety=[{**SAFETY, "alone": False, "source": SOURCE}],
    suggestions=[LINE, {**LINE, "rank": 2, "title": "Serve wide", "because": []}],
    plan={"verdict": "keep", "why": "it has won 5 of 8"},
    look_for=[],
    notice=["Check the event's rules."],
)
ESTIMATE = {
    "quality": "wing", "player": "opponent", "wing": "backhand", "what": "rally.backhand_errors",
    "says": "backhand errors",
    "usual": 0.2, "estimate": 0.241, "low": 0.171, "high": 0.319, "seen": {"count": 5.0, "of": 14.0},
}  # fmt: skip


def details(**changes: Any) -> str:
    return re.sub(r"\s+", " ", Advice({**ADVICE, **changes}).details)


@pytest.mark.parametrize("shown", [str(ADVICE), ADVICE._repr_html_().replace("&#x27;", "'")], ids=["text", "page"])
def test_in_short_safety_comes_first_then_say_because_and_look_again_then_plan_and_notice(shown):
    words = (
        "Stop in the shade. Follow the local code.", "1. Heavy and high", "   Because missed 4 of 5",
        "   Look again after 4 lost", "2. Heavy and high", "hard to hit down", "Plan: keep. It has won 5 of 8.",
        "event's rules",
    )  # fmt: skip
    places = [shown.index(word) for word in words]
    assert places == sorted(places)
    assert "Worth" not in shown


def test_the_details_of_a_suggestion_are_its_reasons_worth_and_source():
    for words in ("missed 4 of 5 above", "a large gain; it pays against 8 in 10 such players", "common practice",
                  "They step", "ad court wide (their backhand)", "Stop in the shade."):  # fmt: skip
        assert words in details()
    sure = {**LINE, "worth": {**LINE["worth"], "pays_in": 0.987}}
    assert "it pays against more than 9 in 10 such players" in details(suggestions=[sure])  # which is no promise
    assert "Worth" not in details(suggestions=[{**LINE, "worth": None}])


def test_the_profile_is_told_in_shares_of_a_hundred_the_surest_first():
    rated = {**ESTIMATE, "says": "high balls handled", "seen": {"count": 0.0, "of": 0.0}}
    shown = Advice({**ADVICE, "profile": [ESTIMATE, rated, *[ESTIMATE] * 20]}).details
    first, second, *more = re.findall("  - (.* usual .*)", shown)
    assert first == "backhand errors: 24 in 100 (17 to 32), usual 20; seen 5 of 14"
    assert second == "high balls handled (backhand): 24 in 100 (17 to 32), usual 20"
    assert len(more) == 4


def test_a_terminal_of_80_columns_is_enough_and_a_notebook_runs_and_fetches_nothing():
    assert max(map(len, [*str(ADVICE).splitlines(), *ADVICE.details.splitlines()])) <= 80
    assert [name for name, _ in Read(ADVICE._repr_html_()).tags] == ["pre"]


def test_a_notebook_shows_a_text_by_its_type_and_the_pictures_of_a_page_are_found():
    assert Text("# Debrief\n", "text/markdown")._repr_mimebundle_() == {"text/markdown": "# Debrief\n"}
    titled = '<svg role="img"><title>T</title></svg>'
    page = Text(f"<p>a</p>{titled}<p>b</p><svg></svg>", "text/html")
    shown = [{"image/svg+xml": picture} for picture in (titled, "<svg></svg>")]
    assert [picture._repr_mimebundle_() for picture in page.pictures] == shown
