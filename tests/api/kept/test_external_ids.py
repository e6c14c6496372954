"""A club system keeps players and matches by its own ids, and follows what changed."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from .conftest import NOWHERE, ON_BOTH_ENGINES

MEMBER = "/v1/by-external-id/players/member-17"
COURT = "/v1/by-external-id/matches/court%202%2C%2009%3A00"  # court 2, 09:00
ROWAN = {"side": "own", "label": "Rowan", "facts": {"volley": 1}}


def put(caller: Any, address: str, body: Any, **headers: str) -> Any:
    return caller.call("PUT", address, json=body, headers=headers)


def codes(response: Any) -> list[tuple[int, str, str]]:
    return [(response.status_code, fault["pointer"], fault["code"]) for fault in response.json["errors"]]


def test_a_player_is_made_by_the_club_s_own_id_and_sent_again_stays(caller, valid):
    made = put(caller, MEMBER, ROWAN)
    assert (made.status_code, made.json["external_id"], made.json["version"]) == (201, "member-17", 1)
    valid("Player", made.json)
    assert made.headers["Location"] == f"/v1/players/{made.json['id']}"
    again = put(caller, MEMBER, {**ROWAN, "external_id": "member-17"})
    assert (again.status_code, again.json, again.headers["ETag"]) == (200, made.json, made.headers["ETag"])
    assert caller.get(made.headers["Location"]).json == made.json
    assert caller.get("/v1/players?external_id=member-17").json == {"items": [made.json]}
    assert caller.get("/v1/players?external_id=member-1").json == {"items": []}


def test_of_a_player_who_is_there_only_what_is_named_changes(caller):
    made = put(caller, MEMBER, ROWAN).json
    learned = {"facts": {"lob": 3}}
    caller.patch(f"/v1/players/{made['id']}", learned, headers={"If-Match": "*"})
    changed = put(caller, MEMBER, {"side": "own", "label": "Alder", "facts": {"volley": 2}})
    assert (changed.status_code, changed.json["label"], changed.json["version"]) == (200, "Alder", 3)
    assert changed.json["facts"] == {"volley": 2, "lob": 3}
    assert put(caller, MEMBER, {"side": "own", "label": "Alder"}).json == changed.json


def test_a_match_is_made_by_the_club_s_own_id_and_keeps_what_was_entered_at_the_court(caller, played, valid):
    body = {"own_id": played.own, "opponent_id": played.opponent, "context": {"surface": "clay"}}
    made = put(caller, COURT, body)
    assert (made.status_code, made.json["external_id"]) == (201, "court 2, 09:00")
    valid("Match", made.json)
    address = made.headers["Location"]
    assert caller.get(address).json == made.json
    caller.patch(address, {"context": {"heat": {"air_c": 36}}}, headers={"If-Match": "*"})
    again = put(caller, COURT, {**body, "context": {"surface": "grass"}, "started_at": None, "first_server": "own"})
    assert (again.status_code, again.json["context"]) == (200, {"surface": "grass", "heat": {"air_c": 36}})
    assert (again.json["started_at"], again.json["first_server"]) == (made.json["started_at"], "own")
    assert put(caller, COURT, body | {"context": {"surface": "grass"}}).json == again.json
    assert caller.get("/v1/matches?external_id=court 2, 09:00").json == {"items": [again.json]}


def test_a_put_that_names_a_version_changes_that_version_alone(caller, played):
    match = {"own_id": played.own, "opponent_id": played.opponent, "first_server": "own"}
    for address, body, change in ((MEMBER, ROWAN, {"label": "Alder"}), (COURT, match, {"first_server": "opponent"})):
        assert put(caller, address, body, **{"If-Match": "*"}).status_code == 412  # there is none yet
        first = put(caller, address, body).headers["ETag"]
        second = put(caller, address, body | change, **{"If-Match": first})
        assert second.status_code == 200
        stale = put(caller, address, body, **{"If-Match": first})
        assert (stale.status_code, stale.json["type"]) == (412, "/problems/changed-meanwhile")
        assert put(caller, address, body | change, **{"If-Match": second.headers["ETag"]}).json == second.json


def test_an_own_id_that_something_else_has_is_refused(caller, played):
    put(caller, MEMBER, ROWAN)
    taken = {"side": "own", "label": "Alder", "external_id": "member-17"}
    assert codes(caller.post("/v1/players", taken)) == [(409, "/external_id", "external-id-taken")]
    change = {"external_id": "member-17"}
    any_version = {"If-Match": "*"}
    other = caller.patch(f"/v1/players/{played.own}", change, headers=any_version)
    assert codes(other) == [(409, "/external_id", "external-id-taken")]
    assert codes(put(caller, MEMBER, {**ROWAN, "side": "opponent"})) == [(409, "/side", "external-id-taken")]
    alder = caller.made("/v1/players", {"side": "own", "label": "Alder"})["id"]
    assert codes(put(caller, MEMBER, {**ROWAN, "label": "Alder"})) == [(409, "/label", "label-taken")]
    match = {"own_id": played.own, "opponent_id": played.opponent}
    put(caller, COURT, match)
    assert codes(put(caller, COURT, {**match, "own_id": alder})) == [(409, "/own_id", "external-id-taken")]
    named = {**match, "external_id": "court 2, 09:00"}
    assert codes(caller.post("/v1/matches", named)) == [(409, "/external_id", "external-id-taken")]
    moved = caller.patch(played.address, {"external_id": "court 2, 09:00"}, headers=any_version)
    assert codes(moved) == [(409, "/external_id", "external-id-taken")]
    free = caller.patch(played.address, {"external_id": "court 3"}, headers=any_version)
    assert free.json["external_id"] == "court 3"
    assert "external_id" not in caller.patch(played.address, {"external_id": None}, headers=any_version).json


@pytest.mark.parametrize("id", ["", "x" * 65, "a/b", " a", "..", "a\nb", 5])
def test_what_is_no_own_id_is_refused_with_its_place(caller, played, id):
    refused = caller.post("/v1/players", {**ROWAN, "label": "Alder", "external_id": id})
    assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, "/external_id")
    match = {"own_id": played.own, "opponent_id": played.opponent, "external_id": id}
    assert caller.post("/v1/matches", match).json["errors"][0]["pointer"] == "/external_id"
    assert put(caller, MEMBER, {**ROWAN, "external_id": "member-18"}).json["errors"][0]["pointer"] == "/external_id"


@ON_BOTH_ENGINES
def test_of_many_puts_at_once_one_makes_and_the_others_find(caller):
    with ThreadPoolExecutor(4) as pool:
        told = [answer.status_code for answer in pool.map(lambda _: put(caller, MEMBER, ROWAN), range(4))]
    assert sorted(told) == [200, 200, 200, 201]
    assert len(caller.get("/v1/players").json["items"]) == 1


def pages(caller: Any, address: str) -> list[str]:
    """The ids on all pages of a list, of two items each."""
    return [item["id"] for page in caller.pages(f"{address}&page_size=2") for item in page.json["items"]]


@ON_BOTH_ENGINES
def test_lists_come_in_the_order_that_is_asked_for(caller, played):
    match = {"own_id": played.own, "opponent_id": played.opponent}
    made = [played.match, *(caller.made("/v1/matches", match)["id"] for _ in range(4))]
    caller.made(f"/v1/matches/{made[1]}/points", {"winner": "own"})
    caller.patch(f"/v1/matches/{made[0]}", {"first_server": "opponent"}, headers={"If-Match": "*"})
    assert pages(caller, "/v1/matches?sort=created_at") == made
    assert pages(caller, "/v1/matches?sort=-created_at") == made[::-1]
    changed = [*made[2:], made[1], made[0]]
    assert pages(caller, "/v1/matches?sort=updated_at") == changed
    assert pages(caller, "/v1/matches?sort=-updated_at&status=open") == changed[::-1]
    players = [caller.made("/v1/players", {"side": "own", "label": f"P{n}"})["id"] for n in range(3)]
    caller.patch(f"/v1/players/{players[0]}", {"label": "Last"}, headers={"If-Match": "*"})
    assert pages(caller, "/v1/players?sort=-updated_at&side=own") == [*players[:1], *players[:0:-1], played.own]


@ON_BOTH_ENGINES
def test_what_changed_since_is_listed_alone_entries_included(caller, played):
    match = {"own_id": played.own, "opponent_id": played.opponent}
    for _ in range(3):
        last = caller.made("/v1/matches", match)
    caller.made(f"{played.address}/points", {"winner": "own"})
    moved = caller.get(played.address).json
    assert moved["updated_at"] > last["updated_at"]
    assert moved["version"] == 1  # an entry changes no facts, so that nobody's If-Match goes stale
    query = {"updated_since": last["updated_at"], "sort": "updated_at"}
    found = caller.get("/v1/matches", query_string=query).json["items"]
    assert [item["id"] for item in found] == [last["id"], played.match]
    later = caller.get("/v1/matches", query_string={"updated_since": "2099-01-01T00:00:00Z"})
    assert later.json == {"items": []}
    assert len(caller.get("/v1/players", query_string={"updated_since": "2026-01-01T00:00:00Z"}).json["items"]) == 2


@ON_BOTH_ENGINES
def test_a_list_goes_on_right_while_things_change(caller, played):
    match = {"own_id": played.own, "opponent_id": played.opponent}
    made = [played.match, *(caller.made("/v1/matches", match)["id"] for _ in range(3))]
    first = caller.get("/v1/matches?sort=updated_at&page_size=2")
    assert [item["id"] for item in first.json["items"]] == made[:2]
    caller.made(f"/v1/matches/{made[0]}/points", {"winner": "own"})
    caller.call("DELETE", f"/v1/matches/{made[1]}")  # the one that the cursor names
    following = first.headers["Link"]
    rest = caller.get(following[1 : following.index(">")]).json["items"]
    assert [item["id"] for item in rest] == [made[2], made[3]]
    assert pages(caller, "/v1/matches?sort=updated_at") == [made[2], made[3], made[0]]


@pytest.mark.parametrize(
    ("query", "name"),
    [
        ("sort=label", "sort"),
        ("sort=", "sort"),
        ("updated_since=yesterday", "updated_since"),
        ("updated_since=2026-05-01T09:00:00", "updated_since"),
        (f"sort=updated_at&cursor={NOWHERE}", "cursor"),
        (f"sort=updated_at&cursor=2026-05-01T09:00:00~{NOWHERE}", "cursor"),
        ("sort=-updated_at&cursor=2026-05-01T09:00:00%2B00:00~7", "cursor"),
        (f"cursor=2026-05-01T09:00:00%2B00:00~{NOWHERE}", "cursor"),
    ],
)
def test_what_no_list_can_be_asked_for_is_refused_by_its_name(caller, query, name):
    for noun in ("players", "matches"):
        refused = caller.get(f"/v1/{noun}?{query}")
        assert (refused.status_code, refused.json["errors"][0]["parameter"]) == (422, name)
