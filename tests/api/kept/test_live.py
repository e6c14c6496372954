"""Live advice over HTTP: polled without running the rules, withheld where the event says so, kept and told apart."""

from collections.abc import Iterator
from typing import Any

import pytest
from sqlalchemy import event

from tacticapi.advice import Adviser
from tacticapi.api.advice import PARTS
from tacticapi.club import Services
from tacticapi.rulebook.matcher import Matcher

NOW = "moment=change-of-ends"
WHOLE = f"{NOW}&include={','.join(PARTS)}"
REVISION_ALONE = "SELECT matches.revision FROM matches WHERE "
ANALYSIS = ("suggestions", "beliefs", "profile", "plan", "look_for", "held_back", "unused", "changed", "score")


@pytest.fixture
def runs(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Grows with each run of the matcher."""
    counted: list[int] = []
    match = Matcher.match
    monkeypatch.setattr(Matcher, "match", lambda self, facts: counted.append(1) or match(self, facts))
    return counted


@pytest.fixture
def read(services: Services) -> Iterator[list[str]]:
    """Grows with what is asked of the database."""
    asked: list[str] = []

    def noted(connection: Any, cursor: Any, statement: str, *more: Any) -> None:
        asked.append(" ".join(statement.split()))

    event.listen(services.engine, "before_cursor_execute", noted)
    yield asked
    event.remove(services.engine, "before_cursor_execute", noted)


@pytest.fixture
def live(under_way: Any) -> str:
    """The address of live advice at a change of ends."""
    return f"{under_way.address}/suggestions?{NOW}"


def test_an_unchanged_match_answers_304_without_running_the_matcher(caller, under_way, live, runs, read, monkeypatch):
    first = caller.get(live)
    assert len(runs) == 1
    held = {"If-None-Match": first.headers["ETag"]}
    with monkeypatch.context() as patched:
        for name in ("trace", "recommend"):
            patched.setattr(Adviser, name, None)
        read.clear()
        again = caller.get(live, headers=held)
        assert (again.status_code, again.data, again.headers["ETag"]) == (304, b"", first.headers["ETag"])
        asked = [one for one in read if one.startswith("SELECT") and " tokens" not in one]
        alone, *others = [one for one in asked if " answers" not in one]  # which says if the club is being filled
        assert not others
        assert alone.startswith(REVISION_ALONE)
        read.clear()
        assert caller.get(live).json == first.json
        assert not [statement for statement in read if " observations" in statement]
    assert len(runs) == 1
    caller.made(f"{under_way.address}/points", {"winner": "own"})
    new = caller.get(live, headers=held)
    assert (new.status_code, len(runs)) == (200, 2)
    assert new.json["advice_id"] != first.json["advice_id"]


def test_another_question_or_a_change_of_a_player_is_no_304(caller, under_way, live, runs):
    held = {"If-None-Match": caller.get(live).headers["ETag"]}
    for query in ("moment=set-break", f"{NOW}&limit=1", f"{NOW}&minutes_left=20"):
        assert caller.get(f"{under_way.address}/suggestions?{query}", headers=held).status_code == 200
    caller.change(f"/v1/players/{under_way.opponent}", facts={"handedness": "right"})
    assert caller.get(live, headers=held).status_code == 200
    assert len(runs) == 5


def test_what_changed_since_the_last_advice_is_told(caller, under_way, live):
    assert caller.get(live).json["changed"] == []
    wild = {"what": "rally.backhand_errors", "count": 13, "of": 15, "set": 1, "game": 2}
    caller.made(f"{under_way.address}/observations", wild)
    assert caller.get(live).json["changed"]


def test_more_of_the_same_advice_is_told_if_asked_for(caller, live, runs):
    first = caller.get(live)
    whole = caller.get(f"{live}&include=beliefs,profile", headers={"If-None-Match": first.headers["ETag"]})
    assert (whole.status_code, whole.json["advice_id"], len(runs)) == (200, first.json["advice_id"], 1)
    assert whole.json.keys() - first.json.keys() == {"beliefs", "profile"}
    given = caller.get(f"/v1/advice/{first.json['advice_id']}").json
    assert all(given[name] == whole.json[name] for name in ("beliefs", "profile"))


def test_where_the_event_does_not_permit_it_nothing_but_safety_leaks(caller, under_way, live):
    before = caller.get(live).json
    assert before["suggestions"]
    caller.change(under_way.address, context={"coaching": "set-break", "device": "coach", "thunder": True})
    now = caller.get(f"{under_way.address}/suggestions?moment=between-points").json
    advice = f"/v1/advice/{before['advice_id']}"
    for told in (now, caller.get(advice).json):
        assert not any(told.get(name) for name in (*ANALYSIS, "situation", "fired"))
        assert told["notice"]
        assert told["safety"]
    hidden = ("probability", "earlier", before["suggestions"][0]["tactic"])
    lists = ("", "/advice", "/score", "/observations?page_size=100")
    for address in (advice, *(under_way.address + below for below in lists), "/v1/matches", "/v1/players"):
        text = caller.get(address).text
        assert not [word for word in hidden if word in text], address
    caller.post(f"{under_way.address}/end")
    after = caller.get(advice).json
    assert after["suggestions"]
    assert after["situation"]


def test_recording_goes_on_where_advice_is_not_permitted(caller, under_way):
    caller.change(under_way.address, context={"device": "nobody"})
    for noun, body in (("points", {"winner": "own"}), ("observations", {"what": "warmup.low_forehand", "rating": 1})):
        caller.made(f"{under_way.address}/{noun}", body)


@pytest.mark.parametrize(
    ("query", "name"),
    [
        ("", "moment"),
        ("moment=lunch", "moment"),
        (f"{NOW}&limit=11", "limit"),
        (f"{NOW}&limit=x", "limit"),
        (f"{NOW}&minutes_left=-1", "minutes_left"),
        (f"{NOW}&minutes_left=721", "minutes_left"),
        (f"{NOW}&mood=bad", "mood"),
        (f"{NOW}&include=all", "include"),
    ],
)
def test_a_question_that_cannot_be_asked_now_is_refused(caller, under_way, query, name):
    response = caller.get(f"{under_way.address}/suggestions?{query}")
    assert (response.status_code, response.json["type"]) == (422, "/problems/invalid-query")
    assert [error["parameter"] for error in response.json["errors"]] == [name]


@pytest.mark.parametrize(("moment", "code"), [("before-match", "match-begun"), ("after-match", "match-not-over")])
def test_a_moment_that_the_match_is_not_at_is_a_conflict(caller, under_way, moment, code):
    response = caller.get(f"{under_way.address}/suggestions?moment={moment}")
    (fault,) = response.json["errors"]
    assert (response.status_code, fault["parameter"], fault["code"]) == (409, "moment", code)
    assert caller.post(f"{under_way.address}/end").status_code == 200
    late = caller.get(f"{under_way.address}/suggestions?moment=between-points")
    assert (late.status_code, late.json["errors"][0]["code"]) == (409, "match-over")
    assert caller.get(f"{under_way.address}/suggestions?moment=after-match&include=beliefs").json["beliefs"]


def test_what_was_seen_begins_a_match_before_its_first_point(caller, played):
    before = f"{played.address}/suggestions?moment=before-match"
    assert caller.get(before).status_code == 200
    caller.made(f"{played.address}/observations", {"what": "warmup.low_forehand", "rating": 1})
    assert caller.get(before).json["errors"][0]["code"] == "match-begun"


def test_advice_is_listed_and_found_with_all_that_it_rested_on(caller, under_way, valid):
    live = caller.get(f"{under_way.address}/suggestions?{WHOLE}").json
    valid("LiveAdvice", live)
    second = caller.get(f"{under_way.address}/suggestions?{NOW}&limit=1").json
    pages = list(caller.pages(f"{under_way.address}/advice?page_size=1"))
    for page in pages:
        valid("AdviceLinePage", page.json)
    assert [page.json["items"][0]["advice_id"] for page in pages] == [live["advice_id"], second["advice_id"]]
    given = caller.get(f"/v1/advice/{live['advice_id']}").json
    valid("GivenAdvice", given)
    again = caller.post("/v1/suggestions", given["situation"])  # it can be posted as it is
    assert again.status_code == 200, again.text
    assert {name: given[name] for name in live} == live
    assert len(given["situation"]["observations"]) == 26
    assert any(rule.startswith("tactic/") for rule in given["fired"])


def test_after_the_match_health_items_are_gone_from_advice(caller, under_way):
    note = "limping since the second game"
    ailing = {"what": "physical.heavy_legs", "seen": True, "note": note}
    caller.made(f"{under_way.address}/observations", ailing)
    live = caller.get(f"{under_way.address}/suggestions?{WHOLE}").json
    assert "stamina" in {one["quality"] for one in live["profile"]}
    caller.post(f"{under_way.address}/end")
    given = caller.get(f"/v1/advice/{live['advice_id']}")
    assert given.json["health_removed"] is True
    assert given.json["profile"]
    assert "stamina" not in {one["quality"] for one in given.json["profile"]}
    assert note not in given.text
    assert "heavy_legs" not in given.text
    assert note not in caller.get(f"{under_way.address}/observations?page_size=100").text


def test_feedback_is_on_what_was_suggested(caller, under_way, valid):
    live = caller.get(f"{under_way.address}/suggestions?{NOW}").json
    address, shown = f"/v1/advice/{live['advice_id']}/feedback", live["suggestions"][0]["tactic"]
    key = {"Idempotency-Key": "felt"}
    used = caller.made(address, {"tactic": shown, "kind": "used"}, headers=key)
    valid("Feedback", used)
    assert caller.made(address, {"tactic": shown, "kind": "used"}, headers=key) == used
    said = caller.made(address, {"tactic": shown, "kind": "not-used", "reason": "too windy"})
    assert said.get("reason") == "too windy"
    listed = caller.get(f"{under_way.address}/feedback")
    valid("FeedbackPage", listed.json)
    assert listed.json["items"] == [used, said]
    for body, place in (
        ({"tactic": shown, "kind": "liked"}, "/kind"),
        ({"tactic": shown, "kind": "not-used"}, "/reason"),
        ({"tactic": shown, "kind": "outcome", "reason": "great"}, "/reason"),
        ({"tactic": "pain-is-a-stop-sign", "kind": "used"}, "/tactic"),
        ({"kind": "used"}, "/tactic"),
    ):
        refused = caller.post(address, body)
        assert refused.status_code == 422, body
        assert [error["pointer"] for error in refused.json["errors"]] == [place]


def test_the_same_is_advised_as_on_a_posted_situation(caller, under_way, live, seen):
    own, opponent = (caller.get(f"/v1/players/{id}").json["facts"] for id in (under_way.own, under_way.opponent))
    posted = {
        "moment": "change-of-ends",
        "context": caller.get(under_way.address).json["context"],
        "own": own,
        "opponent": opponent,
        "observations": seen[:26],
        "score": caller.get(f"{under_way.address}/score").json["score"],
        "points_played": {"on_serve": {"won": 4, "of": 5}},
    }
    stateless = caller.post("/v1/suggestions", posted).json
    kept = caller.get(live).json
    assert {**{name: kept[name] for name in stateless}, "advice_id": ""} == {**stateless, "advice_id": ""}


def test_what_was_advised_before_the_match_is_read_before_it_and_not_while_it_is_played(caller, played):
    caller.change(played.address, context={"coaching": "not-permitted", "device": "coach"})
    live = caller.get(f"{played.address}/suggestions?moment=before-match").json
    address = f"/v1/advice/{live['advice_id']}"
    assert live["suggestions"]
    shown = caller.get(address).json["suggestions"]
    assert [one["because"] for one in shown] == [one["because"] for one in live["suggestions"]]
    caller.made(f"{played.address}/points", {"winner": "own"})
    withheld = caller.get(address).json
    assert (withheld["suggestions"], "situation" in withheld) == ([], False)
    assert withheld["notice"] != live["notice"]


def test_a_head_request_keeps_nothing(caller, under_way, live, runs):
    asked = caller.call("HEAD", live)
    assert (asked.status_code, len(runs)) == (200, 0)
    assert caller.get(f"{under_way.address}/advice").json["items"] == []
    assert caller.get(live).headers["ETag"] == asked.headers["ETag"]
