"""Shot margin, court position and gap over HTTP: figures, pictures, permissions, faults with their place."""

import copy
from typing import Any
from xml.etree import ElementTree

import pytest

from tacticapi.rulebook.load import court_numbers

from .calculating import BODIES, GAP, MARGIN, POSITION, asked, faults

SVG = {"Accept": "image/svg+xml"}
SERVE: dict[str, Any] = {
    "contact": {"x": 0.3, "y": -11.9, "height_m": 2.7},
    "target": {"x": -0.8, "y": 5.4},
    "speed_mps": 45,
    "serve": "deuce",
}


def test_a_shot_comes_with_its_chances_its_best_aims_and_the_other_side(client):
    told = asked(client, MARGIN)
    assert told["shot"]["direction"] == "across"
    assert told["other_side"]["direction"] == "line"
    assert sum(told["shot"]["chances"].values()) == pytest.approx(1.0)
    assert told["best"]["in"]["chance"] > told["shot"]["chances"]["in"]
    assert told["best"]["blend"]["from_back_m"] < told["best"]["in"]["from_back_m"]
    assert told["shot"]["net_height_m"] < told["other_side"]["net_height_m"]
    assert told["comparison"][0].startswith("In: ")
    assert told["spread"]["from"] == "level"
    assert told["spread"]["vertical"]["degrees"] == court_numbers()["spreads"]["intermediate"]["vertical"]


def test_a_shot_that_cannot_miss_goes_in_with_a_chance_of_one_and_no_more(client):
    contact, target = {"x": 0.35, "y": -0.5, "height_m": 1.7145211858996945}, {"x": 0.005, "y": 1.4}
    told = asked(client, MARGIN, contact=contact, target=target, serve="ad")["best"]
    assert told["in"]["chance"] == pytest.approx(1.0)
    assert max(told["in"]["chance"], told["blend"]["chance"]) <= 1.0


def test_a_spread_is_counted_with_its_interval_or_posted_or_that_of_a_level(client):
    told = asked(client, MARGIN, counts={"in": 60, "net": 4, "long": 12, "wide": 6})["spread"]
    assert (told["from"], told["balls"]) == ("counts", 82)
    for side in ("vertical", "sideways"):
        assert told[side]["low"] < told[side]["degrees"] < told[side]["high"]
    few = asked(client, MARGIN, counts={"in": 4})
    assert few["spread"]["vertical"].get("low") is None
    assert any("leave it open" in note for note in few["notes"])
    posted = asked(client, MARGIN, spread={"vertical_deg": 1.0, "sideways_deg": 1.0})
    elite, beginner = (asked(client, MARGIN, level=level) for level in ("elite", "beginner"))
    assert posted["spread"]["from"] == "posted"
    chances = [told["shot"]["chances"]["in"] for told in (beginner, elite, posted)]
    assert chances == sorted(chances)


def test_a_serve_and_a_ball_from_the_middle_have_no_other_side(client):
    told = asked(client, MARGIN, **SERVE, level="advanced")
    middle = asked(client, MARGIN, contact={"x": 0.1, "y": -12.5})
    assert [one["shot"]["direction"] for one in (told, middle)] == ["serve", "straight"]
    assert [one.get("other_side") for one in (told, middle)] == [None, None]
    assert told["comparison"] == []
    assert told["best"]["in"]["y"] < 6.4
    assert told["spread"]["vertical"]["degrees"] == court_numbers()["serve_spreads"]["advanced"]["vertical"]


def test_a_reply_too_slow_to_get_there_takes_as_long_as_your_ball(client):
    replies = ({"x": 0.0, "y": 12.9, "reply_speed_mps": speed} for speed in (3, 5, 50))
    slowest, slow, quick = (asked(client, GAP, opponent=reply)["patterns"] for reply in replies)
    assert slowest == slow
    assert [len([one for one in found if one.get("balls") == 2]) for found in (slow, quick)] == [0, 3]


def test_a_stand_is_told_in_a_sentence(client):
    told = asked(client, POSITION, ball={"x": 0, "y": 11.885})
    assert told["notes"][0] == "The middle of their angles is the middle of the court."


def test_a_ball_that_they_cannot_play_at_that_speed_has_no_time(client):
    told = asked(client, POSITION, ball={**BODIES[POSITION]["ball"], "speed_mps": 12})["stand"]
    usual = asked(client, POSITION)["stand"]
    assert not any("ball_s" in told["middle"][way] for way in ("line", "cross"))
    assert told["middle"]["x"] == usual["middle"]["x"]


def test_a_flat_ball_from_low_down_is_told_to_meet_the_net(client):
    told = asked(client, MARGIN, contact={"x": 3.5, "y": -12.5, "height_m": 0.3}, speed_mps=75)
    assert told["shot"]["over_net_m"] < 0
    assert told["notes"][0].startswith("Struck as intended, this ball hits the net: ")
    assert not any("hits the net" in note for note in asked(client, MARGIN)["notes"])


@pytest.mark.parametrize(
    ("address", "changes", "told"),
    [
        (MARGIN, {}, ["in ", "net ", "long ", "wide ", "best aim"]),
        (POSITION, {}, ["middle of the angles", "across: from", "line: from", "widest balls"]),
        (MARGIN, SERVE, ["in ", "best aim", "you strike"]),
        (POSITION, {"ball": {"x": 0, "y": 0.5}, "line_y": -0.5}, ["middle of the angles", "across: from"]),
        (GAP, {}, ["they cover", "into the open side", "big enough"]),
    ],
)
def test_each_answer_is_drawn_with_its_figures_and_a_text_alternative(client, address, changes, told):
    response = client.post(address, json={**BODIES[address], **changes}, headers=SVG)
    assert response.status_code == 200
    assert response.mimetype == "image/svg+xml"
    assert "Accept" in response.headers["Vary"]
    drawn = ElementTree.fromstring(response.data)
    text = "".join(drawn.itertext()).replace("\N{NO-BREAK SPACE}", " ")
    assert drawn.get("role") == "img"
    assert all(word in text for word in told)
    space = "{http://www.w3.org/2000/svg}"
    assert all(drawn.find(space + name) is not None for name in ("title", "desc"))


@pytest.mark.parametrize("address", [MARGIN, POSITION, GAP])
def test_where_the_event_permits_nothing_nothing_is_drawn(client, address):
    during = {"moment": "between-points", "context": {"coaching": "not-permitted"}}
    assert client.post(address, json={**BODIES[address], **during}, headers=SVG).status_code == 403


def changed(address: str, path: str, value: Any) -> dict[str, Any]:
    body = copy.deepcopy(BODIES[address])
    *parents, name = path.strip("/").split("/")
    node = body
    for parent in parents:
        node = node.setdefault(parent, {})
    node[name] = value
    return body


@pytest.mark.parametrize(
    ("address", "path", "value"),
    [
        (MARGIN, "/contact/y", 3),
        (MARGIN, "/contact/height_m", 9),
        (MARGIN, "/target/x", 4.5),
        (MARGIN, "/target/y", 12.0),
        (MARGIN, "/speed_mps", "fast"),
        (MARGIN, "/speed_mps", 12),
        (MARGIN, "/topspin_rpm", 90_000),
        (MARGIN, "/level", "professional"),
        (MARGIN, "/spread/vertical_deg", 0),
        (MARGIN, "/counts", {"in": 0}),
        (MARGIN, "/where/air/altitude_m", 9000),
        (MARGIN, "/where/pace", "ice"),
        (MARGIN, "/depth_weight", 1.5),
        (MARGIN, "/other", 1),
        (POSITION, "/ball/y", -3),
        (POSITION, "/at", "bench"),
        (POSITION, "/line_y", 2),
        (POSITION, "/ball", None),
        (POSITION, "/own/top_speed_mps", 20),
        (GAP, "/opponent/y", -1),
        (GAP, "/opponent/run_mps", 12),
        (GAP, "/target/x", 0),
        (GAP, "/target/y", 12.5),
        (GAP, "/short_replies", {"count": 1, "of": 0}),
    ],
)
def test_a_fault_is_told_at_its_place(client, address, path, value):
    found = faults(client, address, changed(address, path, value))
    assert any(pointer == path or pointer.startswith(path + "/") for pointer in found), found


def test_a_question_about_nothing_and_two_spreads_are_refused(client):
    assert faults(client, POSITION, {}) == {"/ball": "an object"}
    two = {**BODIES[MARGIN], "level": "elite", "counts": {"in": 5}}
    assert faults(client, MARGIN, two) == {"": "at most one of level, spread and counts"}


def test_a_ball_that_cannot_be_played_is_refused_with_its_place(client):
    assert "lands" in faults(client, GAP, {**BODIES[GAP], "speed_mps": 8})["/speed_mps"]
