"""Advice as a terminal and a notebook show it: safety first, ranked, every reason, and nothing that could run."""

import re
from html.parser import HTMLParser

from tacticapi.client import Advice
from tacticapi.client.shown import Markdown, Page

SOURCE = {"status": "common practice", "key": None, "citation": None, "backs": None}
SAFETY = {"tactic": "heat", "say": "Stop in the shade.", "why": "It is hot.", "caution": "Follow the local code."}
LINE = {
    "rank": 1,
    "tactic": "high-to-the-backhand",
    "category": "rally",
    "title": "High to the <b>backhand</b>",
    "say": "Heavy and high to the backhand.",
    "why": "It is hard to hit down from there.",
    "because": [{"text": "missed 4 of 5 above the shoulder"}],
    "worth": {"size": "large", "pays_in": 0.81, "point": 0.031, "match": 0.042, "match_low": 0.01, "match_high": 0.07},
    "not_if": "They step in.",
    "stop_when": "Look again after 4 lost of 6.",
    "risk": "low",
    "sources": [SOURCE],
    "targets": [{"court": "ad", "spot": "wide", "wing": "backhand"}],
}
ADVICE = Advice(
    {
        "advice_id": "a",
        "moment": "change-of-ends",
        "rulebook": {"version": "1", "digest": "sha256:0"},
        "safety": [{**SAFETY, "alone": False, "source": SOURCE}],
        "suggestions": [LINE, {**LINE, "rank": 2, "title": "Serve wide", "because": []}],
        "plan": {"verdict": "keep", "why": "it has won 5 of 8"},
        "changed": [],
        "look_for": [],
        "notice": ["Check the event's rules."],
    }
)


class Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.names: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)


def in_order(text: str, *words: str) -> bool:
    places = [text.index(word) for word in words]
    return places == sorted(places)


def test_safety_stands_before_tactics_and_the_notice_at_the_end() -> None:
    for shown in (str(ADVICE), ADVICE._repr_html_()):
        assert in_order(
            shown,
            "Stop in the shade. Follow the local code.",
            "1. Heavy and high",
            "2. Heavy and high",
            "event&#x27;s rules" if "<" in shown[:1] else "event's rules",
        )


def test_in_short_a_suggestion_is_say_because_and_look_again_then_comes_the_plan() -> None:
    shown = str(ADVICE)
    assert in_order(
        shown, "1. Heavy and high", "   Because missed 4 of 5", "   Look again after 4 lost", "2. Heavy", "Plan: keep: "
    )
    assert "Worth" not in shown


def test_the_details_of_a_suggestion_are_its_reasons_worth_and_source() -> None:
    for words in (
        "missed 4 of 5 above",
        "a large gain; it pays against 8 in 10 such players",
        "common practice",
        "They step",
        "ad court wide (their backhand)",
        "Stop in the shade.",
    ):
        assert words in re.sub(r"\s+", " ", ADVICE.details)


ESTIMATE = {
    "quality": "wing", "player": "opponent", "wing": "backhand", "what": "rally.backhand_errors",
    "says": "backhand errors",
    "usual": 0.2, "estimate": 0.241, "low": 0.171, "high": 0.319, "seen": {"count": 5.0, "of": 14.0},
}  # fmt: skip


def test_the_profile_is_told_in_shares_of_a_hundred_the_surest_first() -> None:
    rated = {**ESTIMATE, "says": "high balls handled", "seen": {"count": 0.0, "of": 0.0}}
    shown = Advice({**ADVICE, "profile": [ESTIMATE, rated, *[ESTIMATE] * 20]}).details
    first, second, *more = re.findall("  - (.* usual .*)", shown)
    assert first == "backhand errors: 24 in 100 (17 to 32), usual 20; seen 5 of 14"
    assert second == "high balls handled (backhand): 24 in 100 (17 to 32), usual 20"
    assert len(more) == 4


def test_what_pays_against_nearly_all_is_no_promise() -> None:
    worth = {**LINE.get("worth"), "pays_in": 0.987}
    shown = re.sub(r"\s+", " ", Advice({**ADVICE, "suggestions": [{**LINE, "worth": worth}]}).details)
    assert "it pays against more than 9 in 10 such players" in shown


def test_a_line_that_sends_no_ball_claims_no_worth() -> None:
    assert "Worth" not in Advice({**ADVICE, "suggestions": [{**LINE, "worth": None}]}).details


def test_where_nothing_speaks_for_it_the_reason_why_it_works_stands() -> None:
    assert "hard to hit down" in re.sub(r"\s+", " ", str(ADVICE))


def test_a_terminal_of_80_columns_is_enough() -> None:
    assert max(map(len, [*str(ADVICE).splitlines(), *ADVICE.details.splitlines()])) <= 80


def test_a_notebook_runs_nothing_and_fetches_nothing() -> None:
    tags = Tags()
    tags.feed(ADVICE._repr_html_())
    assert tags.names == ["pre"]


def test_a_text_in_markdown_is_shown_as_such() -> None:
    assert Markdown("# Debrief\n")._repr_markdown_() == "# Debrief\n"


def test_the_pictures_of_a_page_are_found() -> None:
    page = Page('<p>a</p><svg role="img"><title>T</title></svg><p>b</p><svg></svg>')
    assert [picture._repr_svg_() for picture in page.pictures] == [
        '<svg role="img"><title>T</title></svg>',
        "<svg></svg>",
    ]
