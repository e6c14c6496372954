"""The debrief as JSON, Markdown and a page; what people typed stays text in each of them."""

import re
from typing import Any

import pytest
from flask.testing import FlaskClient
from markdown_it import MarkdownIt

from tacticapi.api.debrief import DebriefSchema, with_wing
from tacticapi.api.http.blueprint import plain
from tacticapi.club import Services, entries, matches, scorekeeping
from tacticapi.pictures.svg import percent

from ..page import Page
from .keeping import LOW_BALL, Ids, kept_match

TYPED = '<img src=x onerror=alert(1)> *[a](http://b)* `c` | "d" &'


@pytest.fixture(scope="module")
def told(client: FlaskClient, ids: Ids) -> Any:
    return client.get(f"/v1/matches/{ids.match}/debrief").json


@pytest.fixture(scope="module")
def typed(services: Services, ids: Ids) -> str:
    """The address of a debrief whose opponent has a label that is markup everywhere."""
    return f"/v1/matches/{kept_match(services, ids.club, opponent_label=TYPED).match}/debrief"


@pytest.fixture(scope="module")
def changing(services: Services, ids: Ids) -> str:
    """The address of a debrief of an opponent who changed their play, in words that are markup everywhere."""
    match = kept_match(services, ids.club, opponent_label="Changing").match
    change = {"what": "conduct.change_of_play", "value": TYPED, "set": 1, "game": 1}
    entries.add_observation(services, ids.club, match, change)
    return f"/v1/matches/{match}/debrief"


def page_of(client: FlaskClient, address: str) -> Page:
    return Page(client.get(address, headers={"Accept": "text/html"}).text)


def test_the_debrief_is_what_the_contract_says(told: Any) -> None:
    assert DebriefSchema().validate(told) == {}
    assert told.get("winner") == "own"
    assert told["story"][-1]["chance"] == 1.0
    assert {line["tactic"]: (line["tries"]["won"], line["tries"]["of"]) for line in told["tactics"]}[LOW_BALL] == (
        7,
        10,
    )
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
def test_a_match_that_was_broken_off_tells_how_far_it_came(
    client: FlaskClient, services: Services, ids: Ids, score: dict[str, Any] | None, told: str
) -> None:
    match = matches.create(services, ids.club, ids.own, ids.opponent).id
    if score:
        scorekeeping.add_point(services, ids.club, match, {"score": score})
    matches.end(services, ids.club, match)
    address = f"/v1/matches/{match}/debrief"
    lines = client.get(address, headers={"Accept": "text/markdown"}).text.splitlines()
    assert lines[2].replace("\\", "") == told
    assert told in " ".join(page_of(client, address).said.split())
    assert ("## How the score went" in lines) is (score is not None)


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
def test_the_form_is_the_one_that_is_accepted(client: FlaskClient, ids: Ids, accept: str, answered: str) -> None:
    response = client.get(f"/v1/matches/{ids.match}/debrief", headers={"Accept": accept} if accept else {})
    assert response.status_code == 200
    assert response.mimetype == answered
    assert "Accept" in response.headers["Vary"]


def test_a_form_that_is_not_offered_is_refused(client: FlaskClient, ids: Ids) -> None:
    refused = client.get(f"/v1/matches/{ids.match}/debrief", headers={"Accept": "application/pdf"})
    assert refused.status_code == 406
    assert "text/markdown" in refused.json["detail"]
    assert client.get("/v1/tactics", headers={"Accept": "text/html"}).status_code == 406


def test_the_page_asks_for_nothing_outside_and_runs_nothing(client: FlaskClient, ids: Ids) -> None:
    response = client.get(f"/v1/matches/{ids.match}/debrief", headers={"Accept": "text/html"})
    page = Page(response.text)
    assert not {tag for tag, _ in page.tags} & {"script", "link", "img", "iframe", "object", "base", "form"}
    asked = [name for _, attributes in page.tags for name in attributes if name in ("src", "href", "srcset", "style")]
    assert asked == []
    assert "url(" not in response.text
    assert "@import" not in response.text
    assert "default-src 'none'" in response.headers["Content-Security-Policy"]
    assert "prefers-color-scheme" in response.text
    assert "@media print" in response.text


def test_the_pictures_have_text_alternatives_with_ids_of_their_own(client: FlaskClient, ids: Ids) -> None:
    page = page_of(client, f"/v1/matches/{ids.match}/debrief")
    pictures = [attributes for tag, attributes in page.tags if tag == "svg"]
    assert [picture["role"] for picture in pictures] == ["img", "img"]
    known = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    assert len(set(known)) == len(known)
    assert {name for picture in pictures for name in (picture["aria-labelledby"] or "").split()} == set(known)


def test_the_page_and_the_markdown_tell_the_same(client: FlaskClient, changing: str) -> None:
    address = changing
    told: Any = client.get(address).json
    low, high = next((one["tries"]["low"], one["tries"]["high"]) for one in told["tactics"] if one["tries"]["of"])
    page = " ".join(page_of(client, address).said.split())
    text = client.get(address, headers={"Accept": "text/markdown"}).text
    rendered = " ".join(Page(MarkdownIt().enable("table").render(text)).said.split())
    (played,) = told["played"]
    assert (
        f"The chance to win began at {percent(told['story'][0]['chance_before'])}. That is the prior" in told["start"]
    )
    for part in (
        "Won 6-4 6-3.",
        told["start"],
        f"set 1, game 1; {played['verdict']}: {played['why']}",
        "What was played when",
        "What your opponent changed, and after what",
        f"set 1, game 1, at 0-0: {TYPED}.",
        f"7 of 10 won ({percent(low)} to {percent(high)})",
        "not used once",
        told["begin_with"][0]["say"],
        told["surprises"][0]["because"][0],
        "Begin with next time",
        "worth",
        *told["notice"],
    ):
        assert part in page, part
        assert part in rendered, part


def test_what_was_typed_stays_text(client: FlaskClient, typed: str) -> None:
    page = page_of(client, typed)
    assert "img" not in [tag for tag, _ in page.tags]
    assert f"and {TYPED}" in " ".join(page.said.split())
    text = client.get(typed, headers={"Accept": "text/markdown"}).text
    rendered = Page(MarkdownIt("commonmark").enable("table").render(text))
    assert not {tag for tag, _ in rendered.tags} & {"img", "a", "code"}
    assert TYPED in rendered.said


def test_a_cell_cannot_break_its_row() -> None:
    rendered = MarkdownIt().enable("table").render(f"| a | b |\n|---|---|\n| {plain('x | y' + chr(10) + '# z')} | c |")
    assert re.findall(r"<td>(.*?)</td>", rendered) == ["x | y # z", "c"]


def test_a_wing_is_not_named_twice() -> None:
    assert with_wing("Weak below the knee", "forehand") == "Weak below the knee (forehand)"
    assert with_wing("Hides the backhand", "backhand") == with_wing("Hides the backhand", None) == "Hides the backhand"
