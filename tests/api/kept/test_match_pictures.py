"""Pictures of a match under way: from the same figures as the JSON, where the event permits them."""

from typing import Any
from xml.etree import ElementTree

import pytest

from tacticapi.pictures.svg import NAMESPACE, percent

from ..page import words_of

SVG = f"{{{NAMESPACE}}}"
PICTURES = ("win-curve", "beliefs", "serve-spots")
SERVED = [
    {"what": "serve.deuce_court_spots", "counts": {"wide": 2, "T": 6}, "serve": "first", "set": 1, "game": 2},
    {"what": "serve.deuce_court_spots", "counts": {"body": 2}, "serve": "second", "set": 1, "game": 2},
    {"what": "serve.ad_court_spots", "counts": {"wide": 3}, "set": 1, "game": 2},
]


@pytest.fixture
def drawn_match(caller: Any, under_way: Any) -> Any:
    caller.made(f"{under_way.address}/observations", SERVED)
    return under_way


def picture(caller: Any, match: Any, name: str, **more: Any) -> Any:
    return caller.get(f"{match.address}/pictures/{name}", **more)


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_stands_alone_and_tells_in_words_what_it_shows(caller, drawn_match, name):
    response = picture(caller, drawn_match, name)
    assert words_of(response)
    read = ElementTree.fromstring(response.text)
    assert read.get("role") == "img"
    assert set(read.get("aria-labelledby", "").split()) == {one.get("id") for one in read.iter() if one.get("id")}
    assert "prefers-color-scheme: dark" in (read.findtext(f"{SVG}style") or "")


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_that_the_client_holds_is_not_drawn_again(caller, drawn_match, name):
    held = {"If-None-Match": picture(caller, drawn_match, name).headers["ETag"]}
    again = picture(caller, drawn_match, name, headers=held)
    assert (again.status_code, again.data) == (304, b"")
    caller.made(f"{drawn_match.address}/points", {"winner": "own"})
    assert picture(caller, drawn_match, name, headers=held).status_code == 200


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_withheld_where_the_event_says_so(caller, drawn_match, name):
    caller.change(drawn_match.address, context={"coaching": "set-break", "device": "coach"})
    queries = ("", "?moment=change-of-ends", "?moment=set-break")
    asked = [picture(caller, drawn_match, name + query) for query in queries]
    assert [response.status_code for response in asked] == [403, 403, 200]
    assert asked[0].json["type"] == "/problems/not-permitted-now"
    assert "Only safety advice is shown" in asked[0].json["detail"]
    caller.post(f"{drawn_match.address}/end")
    assert picture(caller, drawn_match, name).status_code == 200


def test_serves_are_shares_of_each_court_all_or_first_or_second(caller, drawn_match):
    every = words_of(picture(caller, drawn_match, "serve-spots"))
    assert "deuce court, T: 60%, 6 of 10." in every
    assert "ad court, wide: 100%, 6 of 6." in every
    first = words_of(picture(caller, drawn_match, "serve-spots?serve=first"))
    assert "deuce court, T: 75%, 6 of 8." in first
    assert "ad court, wide: 100%, 3 of 3." in first
    assert "deuce court, body: 100%, 2 of 2." in words_of(picture(caller, drawn_match, "serve-spots?serve=second"))
    assert picture(caller, drawn_match, "serve-spots?serve=third").status_code == 422


def test_beliefs_are_those_of_the_advice(caller, drawn_match, rulebook):
    shown = words_of(picture(caller, drawn_match, "beliefs?limit=100"))
    advice = caller.get(f"{drawn_match.address}/suggestions?moment=between-points&include=beliefs").json
    seen = [belief for belief in advice["beliefs"] if belief["because"]]
    assert len(seen) > 10
    for belief in seen:
        assert f"{percent(belief['probability'])}, before {percent(belief['prior'])}" in shown
        assert rulebook.traits[belief["trait"]].title in shown
        assert all(reason["text"] in shown for reason in belief["because"])


def test_the_beliefs_that_moved_most_come_first_and_health_never(caller, drawn_match):
    caller.made(f"{drawn_match.address}/observations", {"what": "physical.heavy_legs", "seen": True})
    response = picture(caller, drawn_match, "beliefs?limit=3")
    bars = [float(bar.get("width", "")) for bar in ElementTree.fromstring(response.text).iter(f"{SVG}rect")]
    assert len(bars) == 6  # each with the whole behind it
    everything = words_of(picture(caller, drawn_match, "beliefs?limit=100"))
    assert "heavy" not in everything


def test_not_for_betting_stands_beside_win_curve_debrief_and_dossier(caller, drawn_match):
    curve = ElementTree.fromstring(picture(caller, drawn_match, "win-curve").text)
    assert any("not for betting" in "".join(one.itertext()) for one in curve.iter(f"{SVG}text"))
    assert "not for betting" in words_of(picture(caller, drawn_match, "win-curve"))
    caller.post(f"{drawn_match.address}/end")
    for address in (f"{drawn_match.address}/debrief", f"/v1/players/{drawn_match.opponent}/dossier"):
        assert any("not for betting" in note.lower() for note in caller.get(address).json["notice"]), address
    page = caller.get(f"{drawn_match.address}/debrief", headers={"Accept": "text/html"}).text
    assert page.count("not for betting") >= 3  # in the curve, in its words, in the notes
