"""Matches over HTTP: made, changed by version, ended, and their score."""

import pytest

from .conftest import NOWHERE


def test_a_match_is_made_and_found_at_its_address(caller, played, valid):
    body = {
        "own_id": played.own,
        "opponent_id": played.opponent,
        "context": {"surface": "clay", "wind": {"strength": "light", "direction": {"north": "with"}}, "heat": None},
        "own": {"volley": 4, "pain_now": 2},
        "first_server": "opponent",
        "started_at": "2026-05-01T09:00:00+02:00",
    }
    response = caller.post("/v1/matches", body)
    assert response.status_code == 201, response.text
    valid("Match", response.json)
    assert response.json["started_at"] == "2026-05-01T07:00:00+00:00"
    assert response.json["context"] == {name: said for name, said in body["context"].items() if name != "heat"}
    assert (response.json["own"], response.json["opponent"]) == ({"volley": 4, "pain_now": 2}, {})
    assert caller.get(response.headers["Location"]).json == response.json


@pytest.mark.parametrize(
    ("change", "places"),
    [
        ({"own_id": None}, {"/own_id"}),
        ({"context": {"format": {"sets": 4}}}, {"/context/format/sets"}),
        ({"context": {"moon": "full"}, "own": {"volley": 9}}, {"/context/moon", "/own/volley"}),
        ({"opponent": {"handedness": "third"}}, {"/opponent/handedness"}),
        ({"first_server": "umpire"}, {"/first_server"}),
        ({"started_at": "tomorrow"}, {"/started_at"}),
        ({"started_at": "2026-05-01T09:00:00"}, {"/started_at"}),
        ({"started_at": 5}, {"/started_at"}),
        ({"started_at": "0001-01-01T00:00:00+14:00"}, {"/started_at"}),
        ({"priors": {}}, {"/priors"}),
    ],
)
def test_what_no_match_can_be_is_refused_with_its_place(caller, played, change, places):
    body = {"own_id": played.own, "opponent_id": played.opponent, **change}
    response = caller.post("/v1/matches", body)
    assert response.status_code == 422
    assert {error["pointer"] for error in response.json["errors"]} == places


def test_a_match_is_of_an_own_player_against_an_opponent(caller, played):
    turned = {"own_id": played.opponent, "opponent_id": played.own}
    assert caller.post("/v1/matches", turned).json["errors"][0]["pointer"] == "/own_id"
    unknown = caller.post("/v1/matches", {"own_id": played.own, "opponent_id": NOWHERE})
    assert (unknown.status_code, unknown.json["detail"]) == (404, f"no player {NOWHERE}")


def test_points_do_not_get_in_the_way_of_a_change(caller, played):
    read = caller.get(played.address)
    caller.made(f"{played.address}/points", {"winner": "own"})
    assert caller.get(played.address, headers={"If-None-Match": read.headers["ETag"]}).status_code == 304
    before = {**read.json["context"], "coaching": "permitted"}
    change = {"context": {"coaching": "permitted", "surface": None}, "own": {"lob": 3}}
    changed = caller.patch(played.address, change, headers={"If-Match": read.headers["ETag"]})
    assert changed.status_code == 200, changed.text
    assert changed.json["context"] == {name: value for name, value in before.items() if name != "surface"}
    assert changed.json["own"] == {**read.json["own"], "lob": 3}
    assert changed.json["first_server"] == "own"
    assert caller.patch(played.address, change, headers={"If-Match": read.headers["ETag"]}).status_code == 412
    assert caller.patch(played.address, change).status_code == 428
    weak = {"If-Match": f"W/{changed.headers['ETag']}"}  # as a proxy that packs answers makes it
    emptied = caller.patch(played.address, {"own": None, "first_server": None}, headers=weak)
    assert (emptied.json["own"], "first_server" in emptied.json) == ({}, False)
    assert caller.patch(played.address, {}, headers={"If-Match": "*"}).status_code == 422
    steps = {"If-Match": "*", "Content-Type": "application/json-patch+json"}
    assert caller.call("PATCH", played.address, data="[]", headers=steps).status_code == 415


def test_a_format_in_which_the_points_cannot_have_been_played_is_refused(caller, played):
    late = {"sets": [[6, 4]], "games": [5, 3], "points": ["0", "0"], "server": "own"}
    caller.made(f"{played.address}/points", {"score": late})
    change = {"context": {"format": {"games": 4}}}
    response = caller.patch(played.address, change, headers={"If-Match": "*"})
    assert (response.status_code, response.json["type"]) == (422, "/problems/invalid-body")


def test_with_the_end_health_items_go_and_nothing_more_is_taken(caller, played):
    body = {"own_id": played.own, "opponent_id": played.opponent, "own": {"pain_now": 2, "volley": 3}}
    address = f"/v1/matches/{caller.made('/v1/matches', body)['id']}"
    assert caller.post(f"{address}/end", headers={"If-Match": '"7"'}).status_code == 412
    ended = caller.post(f"{address}/end", headers={"If-Match": '"1"'})
    assert (ended.status_code, ended.json["status"], ended.json["own"]) == (200, "ended", {"volley": 3})
    assert caller.post(f"{address}/end").json == ended.json
    for noun, entry in (("points", {"winner": "own"}), ("tries", {"tactic": "swap-serve-spots", "tried": 2, "won": 1})):
        assert caller.post(f"{address}/{noun}", entry).json["errors"][0]["code"] == "match-ended"
    ailing = caller.post(f"{address}/observations", {"what": "physical.heavy_legs", "seen": True})
    assert ailing.status_code in (409, 422)
    caller.made(f"{address}/observations", {"what": "serve.followed_to_net", "count": 2, "of": 5})
    ailing = caller.patch(address, {"own": {"pain_now": 2}}, headers={"If-Match": "*"})
    assert (ailing.status_code, ailing.json["errors"][0]["pointer"]) == (409, "/own/pain_now")
    assert ailing.json["errors"][0]["code"] == "match-ended"


def test_the_score_follows_the_points_and_is_polled(caller, under_way, valid):
    address = f"{under_way.address}/score"
    score = caller.get(address)
    valid("MatchScore", score.json)
    assert score.json.get("score") == {"sets": [], "games": [1, 0], "points": ["0", "0"], "server": "opponent"}
    held = {"If-None-Match": score.headers["ETag"]}
    assert caller.get(address, headers=held).status_code == 304
    caller.made(f"{under_way.address}/points", {"winner": "opponent"})
    assert caller.get(address, headers=held).json["score"].get("points") == ["0", "15"]


def test_matches_are_listed_by_player_and_status(caller, played, valid):
    other = caller.made("/v1/players", {"side": "opponent", "label": "Hail"})["id"]
    second = caller.made("/v1/matches", {"own_id": played.own, "opponent_id": other})["id"]
    caller.post(f"/v1/matches/{second}/end")

    def ids(query: str) -> list[str]:
        response = caller.get(f"/v1/matches?{query}")
        valid("MatchPage", response.json)
        return [item["id"] for item in response.json["items"]]

    assert ids("") == [played.match, second]
    assert ids(f"opponent_id={other}") == ids("status=ended") == [second]
    assert ids(f"own_id={played.own}&status=open") == [played.match]
    assert ids(f"own_id={NOWHERE}") == []
    assert caller.get("/v1/matches?status=lost").status_code == 422


def test_a_match_is_deleted_with_all_that_was_kept_of_it(caller, under_way):
    advice = caller.get(f"{under_way.address}/suggestions?moment=change-of-ends").json
    assert caller.call("DELETE", under_way.address, headers={"If-Match": '"7"'}).status_code == 412
    assert caller.get(f"{under_way.address}/points").json["items"]
    gone = caller.call("DELETE", under_way.address, headers={"If-Match": '"1"'})
    assert (gone.status_code, gone.data) == (204, b"")
    for address in (under_way.address, f"{under_way.address}/points", f"/v1/advice/{advice['advice_id']}"):
        assert caller.get(address).status_code == 404
    assert caller.call("DELETE", under_way.address).status_code == 404
    assert caller.get(f"/v1/players/{under_way.own}").status_code == 200


def test_an_ended_match_is_reopened_and_goes_on(caller, under_way, valid):
    open_still = caller.post(f"{under_way.address}/reopen")
    assert (open_still.status_code, open_still.json["version"]) == (200, 1)
    ended = caller.post(f"{under_way.address}/end")
    assert caller.post(f"{under_way.address}/reopen", headers={"If-Match": '"1"'}).status_code == 412
    reopened = caller.post(f"{under_way.address}/reopen", headers={"If-Match": ended.headers["ETag"]})
    valid("Match", reopened.json)
    assert (reopened.status_code, reopened.json["status"], reopened.json["version"]) == (200, "open", 3)
    assert "ended_at" not in reopened.json
    caller.made(f"{under_way.address}/points", {"winner": "own"})
    assert caller.get(f"{under_way.address}/debrief").json["type"] == "/problems/match-not-ended"
    assert caller.post(f"{under_way.address}/end").json["status"] == "ended"
