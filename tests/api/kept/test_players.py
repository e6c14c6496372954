"""Players over HTTP."""

import gzip

import pytest

from tacticapi.club import Services, players
from tacticapi.store import Player

from .conftest import ON_BOTH_ENGINES


def test_a_player_is_made_and_found_at_its_address(caller, valid):
    body = {"side": "opponent", "label": "Sleet", "facts": {"handedness": "left", "backhand_type": None}}
    response = caller.post("/v1/players", body)
    assert response.status_code == 201
    valid("Player", response.json)
    assert response.json["facts"] == {"handedness": "left"}
    again = caller.get(response.headers["Location"])
    assert (again.json, again.headers["ETag"]) == (response.json, '"1"')
    assert again.headers["Cache-Control"] == "private, no-cache"


@pytest.mark.parametrize(
    ("body", "places"),
    [
        ({}, {"/side", "/label"}),
        ({"side": "both", "label": "Sleet"}, {"/side"}),
        ({"side": "own", "label": ""}, {"/label"}),
        ({"side": "own", "label": "   "}, {"/label"}),
        ({"side": "own", "label": "x" * 101}, {"/label"}),
        ({"side": "own", "label": "a\nb"}, {"/label"}),
        ({"side": "own", "label": "Larch", "born": "2011-01-01"}, {"/born"}),
        ({"side": "own", "label": "Larch", "facts": {"shoe_size": 4}}, {"/facts/shoe_size"}),
        ({"side": "own", "label": "Larch", "facts": {"volley": 9, "speed": "x"}}, {"/facts/volley", "/facts/speed"}),
        ({"side": "own", "label": "Larch", "facts": {"favourite_pattern": "x" * 501}}, {"/facts/favourite_pattern"}),
        ({"side": "own", "label": "Larch", "facts": {"pain_now": 3}}, {"/facts/pain_now"}),
        ({"side": "own", "label": "Larch", "facts": [1]}, {"/facts"}),
    ],
)  # fmt: skip
def test_what_no_player_can_be_is_refused_with_its_place(caller, body, places):
    response = caller.post("/v1/players", body)
    assert response.status_code == 422
    assert response.json["type"] == "/problems/invalid-body"
    assert {error["pointer"] for error in response.json["errors"]} == places


@ON_BOTH_ENGINES
def test_a_label_stands_once_a_side(caller):
    body = {"side": "own", "label": "Larch"}
    caller.made("/v1/players", body)
    assert caller.post("/v1/players", body).json["errors"][0]["pointer"] == "/label"
    caller.made("/v1/players", {**body, "side": "opponent"})
    elm = caller.made("/v1/players", {**body, "label": "Elm"})["id"]
    taken = caller.patch(f"/v1/players/{elm}", {"label": "Larch"}, headers={"If-Match": "*"})
    assert taken.json["errors"][0]["pointer"] == "/label"


def test_a_change_names_the_version_that_was_read(caller):
    made = caller.post("/v1/players", {"side": "own", "label": "Larch", "facts": {"volley": 1}})
    address, read = made.headers["Location"], {"If-Match": made.headers["ETag"]}
    assert caller.patch(address, {"label": "Elm"}).status_code == 428
    changed = caller.patch(address, {"facts": {"volley": 3}}, headers=read)
    assert (changed.status_code, changed.json["facts"], changed.headers["ETag"]) == (200, {"volley": 3}, '"2"')
    late = caller.patch(address, {"label": "Elm"}, headers=read)
    assert (late.status_code, late.json["type"]) == (412, "/problems/changed-meanwhile")
    assert caller.get(address).json == changed.json
    assert caller.change(address, label="Elm")["label"] == "Elm"
    assert caller.patch(address, {}, headers={"If-Match": "*"}).status_code == 422
    wrong = caller.patch(address, {"facts": {"volley": 9}}, headers={"If-Match": "*"})
    assert wrong.json["errors"][0]["pointer"] == "/facts/volley"


@ON_BOTH_ENGINES
def test_a_change_that_another_overtakes_is_refused(caller, services, monkeypatch):
    address = caller.post("/v1/players", {"side": "own", "label": "Larch"}).headers["Location"]
    read = players.get

    def overtaken(services: Services, club_id: str, player_id: str) -> Player:
        found = read(services, club_id, player_id)
        players.update(services, club_id, player_id, found.version, label="Elm")
        return found

    with monkeypatch.context() as meanwhile:
        meanwhile.setattr(players, "get", overtaken)
        late = caller.patch(address, {"label": "Alder"}, headers={"If-Match": "*"})
    assert (late.status_code, late.json["type"]) == (412, "/problems/changed-meanwhile")
    assert late.json["detail"] == "the player is now at version 2: read it again before changing it"
    assert caller.get(address).json["label"] == "Elm"


@ON_BOTH_ENGINES
def test_pages_are_the_whole_list_whatever_comes_meanwhile(caller, valid):
    made = [caller.made("/v1/players", {"side": "opponent", "label": f"Code {n}"})["id"] for n in range(5)]
    found = []
    for page in caller.pages("/v1/players?page_size=2&side=opponent"):
        valid("PlayerPage", page.json)
        if not found:
            made.append(caller.made("/v1/players", {"side": "opponent", "label": "Late"})["id"])
        found += [item["id"] for item in page.json["items"]]
    assert found == made


def test_a_player_is_erased_in_the_version_that_was_read(caller):
    player = caller.made("/v1/players", {"side": "own", "label": "Larch"})
    address = f"/v1/players/{player['id']}"
    caller.patch(address, {"facts": {"lob": 3}}, headers={"If-Match": '"1"'})
    assert caller.call("DELETE", address, headers={"If-Match": '"1"'}).status_code == 412
    assert caller.call("DELETE", address, headers={"If-Match": 'W/"2"'}).status_code == 204


def test_a_change_of_facts_is_a_merge_patch(caller):
    player = caller.made("/v1/players", {"side": "own", "label": "Larch", "facts": {"lob": 3, "volley": 2}})
    address = f"/v1/players/{player['id']}"
    assert caller.change(address, facts={"lob": None, "speed": 4})["facts"] == {"volley": 2, "speed": 4}
    assert caller.patch(address, {"label": None}, headers={"If-Match": "*"}).status_code == 422
    assert caller.change(address, facts=None)["facts"] == {}


def test_a_parameter_that_nobody_knows_is_refused_everywhere(caller):
    for address in ("/v1/club", "/v1/rulebook", "/livez", "/problems", "/v1/players?side=own"):
        refused = caller.get(f"{address}{'&' if '?' in address else '?'}colour=red")
        assert (refused.status_code, refused.json["errors"][0]["parameter"]) == (422, "colour"), address


def test_long_answers_are_packed_for_who_accepts_it(caller):
    plain = caller.get("/v1/rulebook")
    packed = caller.get("/v1/rulebook", headers={"Accept-Encoding": "gzip"})
    assert gzip.decompress(packed.data) == plain.data
    assert len(packed.data) < len(plain.data) / 2
    assert (packed.headers["Content-Encoding"], packed.headers["ETag"]) == ("gzip", f"W/{plain.headers['ETag']}")
    assert "Accept-Encoding" in plain.headers["Vary"]
    held = {"Accept-Encoding": "gzip", "If-None-Match": packed.headers["ETag"]}
    assert caller.get("/v1/rulebook", headers=held).status_code == 304
