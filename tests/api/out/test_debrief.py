"""The debrief as JSON, Markdown and a page; what people typed stays text in each of them."""

from typing import Any

import pytest
from flask.testing import FlaskClient
from markdown_it import MarkdownIt

from tacticapi.club import entries, matches, scorekeeping
from tacticapi.pictures.svg import percent

from ...databases import Played
from ..page import Page, harmless
from .conftest import LOW_BALL

TYPED = '<img src=x onerror=alert(1)> *[a](http://b)* `c` | "d" &'


@pytest.fixture(scope="module")
def debrief(ids: Played) -> str:
    return f"/v1/matches/{ids.match}/debrief"


def page_of(client: FlaskClient, address: str) -> Page:
    return Page(client.get(address, headers={"Accept": "text/html"}).text)


def test_the_debrief_is_what_the_contract_says(client, debrief, valid):
    told = client.get(debrief).json
    valid("Debrief", told)
    assert told.get("winner") == "own"
    assert told["story"][-1]["chance"] == 1.0
    tries = next(line["tries"] for line in told["tactics"] if line["tactic"] == LOW_BALL)
    assert (tries["won"], tries["of"]) == (7, 10)
    assert told["surprises"]
    assert told["begin_with"]
    assert len(told["notice"]) == 3


@pytest.mark.parametrize(
    ("score", "told"),
    [
        (None, "No score was kept."),
        ({"games": [3, 2]}, "Not decided; the last score is 3-2 in games."),
        ({"sets": [[6, 4], [2, 6]], "games": [1, 0]}, "Not decided; the last score is 6-4 2-6, then 1-0 in games."),
        ({"sets": [[4, 6], [2, 6]]}, "Lost 4-6 2-6."),
    ],
)
def test_a_match_that_was_broken_off_tells_how_far_it_came(client, services, ids, score, told):
    match = matches.create(services, ids.club, ids.own, ids.opponent).id
    if score:
        scorekeeping.add_points(services, ids.club, match, {"score": score})
    matches.end(services, ids.club, match)
    address = f"/v1/matches/{match}/debrief"
    lines = client.get(address, headers={"Accept": "text/markdown"}).text.splitlines()
    assert lines[2].replace("\\", "") == told
    assert told in page_of(client, address).said
    assert ("## How the score developed" in lines) is (score is not None)


@pytest.mark.parametrize(
    ("accept", "answered"),
    [
        ("", "application/json"),
        ("*/*", "application/json"),
        ("application/json", "application/json"),
        ("text/markdown; charset=utf-8", "text/markdown"),
        ("text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", "text/html"),
        ("text/html;q=0.2, text/markdown", "text/markdown"),
    ],
)
def test_the_form_is_the_one_that_is_accepted(client, debrief, accept, answered):
    response = client.get(debrief, headers={"Accept": accept} if accept else {})
    assert (response.status_code, response.mimetype) == (200, answered)
    assert "Accept" in response.headers["Vary"]


def test_the_page_asks_for_nothing_outside_and_its_pictures_have_text_alternatives(client, debrief):
    response = client.get(debrief, headers={"Accept": "text/html"})
    page = harmless(response)
    assert "prefers-color-scheme" in response.text
    assert "@media print" in response.text
    pictures = [attributes for tag, attributes in page.tags if tag == "svg"]
    assert [picture["role"] for picture in pictures] == ["img", "img"]
    known = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    assert sorted(known) == sorted(name for one in pictures for name in (one["aria-labelledby"] or "").split())


def test_the_page_and_the_markdown_tell_the_same(client, services, new_match):
    kept = new_match("Changing")
    change = {"what": "conduct.change_of_play", "value": TYPED, "set": 1, "game": 1}
    entries.add_observations(services, kept.club, kept.match, change)
    address = f"/v1/matches/{kept.match}/debrief"
    told: Any = client.get(address).json
    low, high = next((one["tries"]["low"], one["tries"]["high"]) for one in told["tactics"] if one["tries"]["of"])
    page = page_of(client, address).said
    text = client.get(address, headers={"Accept": "text/markdown"}).text
    rendered = Page(MarkdownIt().enable("table").render(text)).said
    (played,) = told["played"]
    began = percent(told["story"][0]["chance_before"])
    assert f"The chance of winning began at {began}. That is the prior" in told["start"]
    for part in (
        "Won 6-4 6-3.",
        told["start"],
        f"set 1, game 1; {played['verdict']}: {played['why']}",
        "What was played, and when",
        "What your opponent changed, and when",
        f"set 1, game 1, at 0-0: {TYPED}.",
        f"7 of 10 won ({percent(low)} to {percent(high)})",
        "not used once",
        told["begin_with"][0]["say"],
        told["surprises"][0]["because"][0],
        "Start with this next time",
        "worth",
        *told["notice"],
    ):
        assert part in page, part
        assert part in rendered, part


def test_what_was_typed_stays_text(client, new_match):
    address = f"/v1/matches/{new_match(TYPED).match}/debrief"
    page = page_of(client, address)
    assert "img" not in [tag for tag, _ in page.tags]
    assert f"and {TYPED}" in page.said
    text = client.get(address, headers={"Accept": "text/markdown"}).text
    rendered = Page(MarkdownIt("commonmark").enable("table").render(text))
    assert not {tag for tag, _ in rendered.tags} & {"img", "a", "code"}
    assert TYPED in rendered.said
