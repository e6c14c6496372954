"""Who may do what: bearer tokens, scopes, and the club of this machine."""

import re
from datetime import timedelta

import pytest

from tacticapi.api import create_app
from tacticapi.api.contract import EXTENSION, METHODS
from tacticapi.club import clubs, players

from ...databases import delete_club
from .conftest import Caller

SITUATION = {"moment": "set-break"}


@pytest.mark.parametrize(
    "header", ["Bearer", "Bearer x", "Bearer tac_AAAA", "bearer \u00e9", "Bearer tac_" + "A" * 86, "Basic TGFyY2g6eA=="]
)
def test_what_is_no_token_of_ours_is_invalid(kept_app, services, header):
    response = kept_app.test_client().get("/v1/players", headers={"Authorization": header})
    assert response.status_code == 401
    fault = "" if header.startswith("Basic") else ', error="invalid_token"'
    assert response.headers["WWW-Authenticate"] == f'Bearer realm="tacticapi"{fault}'


def test_a_revoked_or_expired_token_opens_nothing_more(caller, services):
    assert caller.get("/v1/players").status_code == 200
    clubs.revoke_token(services, caller.club, clubs.tokens_of(services, caller.club)[0].id)
    assert caller.get("/v1/players").status_code == 401
    end = services.now() + timedelta(seconds=0.05)
    soon = clubs.create_token(services, caller.club, "day", ["read"], expires_at=end)
    caller.token = soon.text
    while services.now() < soon.token.expires_at:
        pass
    assert caller.get("/v1/players").status_code == 401


def test_advice_on_a_posted_situation_needs_a_token_only_where_told(new_app, services, caller):
    assert new_app().test_client().post("/v1/suggestions", json=SITUATION).status_code == 200
    closed = new_app(REQUIRE_TOKENS=True, LOCAL=True)
    for address in ("/v1/suggestions", "/v1/explanations", "/v1/calculations/win-chance"):
        assert closed.test_client().post(address, json=SITUATION).status_code == 401
    assert closed.test_client().get("/v1/rulebook").status_code == 200
    let_in = type(caller)(closed, clubs.create_token(services, caller.club, "adviser", ["advise"]).text)
    assert let_in.post("/v1/suggestions", SITUATION).status_code == 200
    reader = type(caller)(closed, clubs.create_token(services, caller.club, "reader", ["read"]).text)
    assert reader.post("/v1/suggestions", SITUATION).status_code == 403


def test_this_machine_needs_no_token_and_has_a_club_of_its_own(new_app, services):
    players.create(services, clubs.create(services, "Two Kilns").club_id, "own", "Larch")
    local = new_app(LOCAL=True).test_client()
    assert local.get("/v1/players").json == {"items": []}
    made = local.post("/v1/players", json={"side": "own", "label": "Elm"})
    assert made.status_code == 201
    assert new_app(LOCAL=True).test_client().get("/v1/players").json == {"items": [made.json]}
    assert [club.label for club in clubs.every(services)] == ["Two Kilns", "local"]
    wrong = Caller(new_app(LOCAL=True), "tac_wrong")
    assert wrong.get("/v1/players").status_code == 401


def test_the_first_token_closes_this_machine_s_club_at_once_and_for_good(new_app, services):
    app = new_app(LOCAL=True)
    here = Caller(app, None)
    here.made("/v1/players", {"side": "own", "label": "Larch"})
    local = here.get("/v1/club").json["id"]
    club = clubs.create(services, "Two Kilns").club_id
    assert here.get("/v1/players").status_code == 200
    issued = clubs.create_token(services, club, "phone", ["read"], expires_at=services.now() + timedelta(hours=1))
    closed = [here.get("/v1/players"), here.post("/v1/players", {"side": "own", "label": "Elm"}), here.get("/v1/club")]
    closed.append(here.post("/v1/suggestions", {**SITUATION, "opponent_id": local}))
    assert [answer.status_code for answer in closed] == [401] * 4
    assert here.post("/v1/suggestions", SITUATION).status_code == 200
    assert Caller(app, issued.text).get("/v1/players").json == {"items": []}
    clubs.revoke_token(services, club, issued.token.id)
    assert here.get("/v1/players").status_code == 401
    opened_again = Caller(app, clubs.create_token(services, local, "bench", ["read"]).text)
    assert [item["label"] for item in opened_again.get("/v1/players").json["items"]] == ["Larch"]


def test_this_machine_s_club_is_made_again_where_it_was_deleted(new_app, services):
    here = Caller(new_app(LOCAL=True), None)
    here.made("/v1/players", {"side": "own", "label": "Larch"})
    gone = here.get("/v1/club").json["id"]
    delete_club(services, gone)
    assert here.get("/v1/players").json == {"items": []}
    assert here.get("/v1/club").json["id"] != gone
    delete_club(services, here.get("/v1/club").json["id"])
    here.made("/v1/players", {"side": "own", "label": "Larch"}, headers={"Idempotency-Key": "a"})


def test_what_is_asked_of_a_deleted_club_with_its_token_is_unauthorized(caller, services):
    delete_club(services, caller.club)
    for response in (
        caller.get("/v1/players"),
        caller.post("/v1/players", {"side": "own", "label": "Elm"}, headers={"Idempotency-Key": "a"}),
        caller.post("/v1/suggestions", {"moment": "set-break", "opponent_id": caller.club}),
    ):
        assert response.status_code == 401


@pytest.mark.parametrize(
    "more",
    [
        {"environ_overrides": {"REMOTE_ADDR": "203.0.113.9"}},
        {"headers": {"X-Forwarded-For": "203.0.113.9"}},
        {"headers": {"Forwarded": "for=203.0.113.9"}},
        *({"headers": {"Host": host}} for host in ("court.example", "203.0.113.9:8000", "[")),
    ],
)
def test_a_request_that_only_looks_local_needs_a_token(new_app, services, more):
    assert new_app(LOCAL=True).test_client().get("/v1/players", **more).status_code in (400, 401)
    assert clubs.every(services) == []


@pytest.mark.parametrize("host", ["localhost", "localhost:8000", "127.0.0.1:8000", "[::1]:8000"])
def test_this_machine_has_several_names(new_app, services, host):
    assert new_app(LOCAL=True).test_client().get("/v1/players", headers={"Host": host}).status_code == 200


def test_without_a_database_advice_goes_on_and_nothing_is_kept(adviser):
    client = create_app({"ADVISER": adviser}).test_client()
    assert client.post("/v1/suggestions", json=SITUATION).status_code == 200
    response = client.get("/v1/players")
    assert (response.status_code, response.json["type"]) == (503, "/problems/not-ready")
    assert "DATABASE_URL" in response.json["detail"]
    assert client.get("/readyz").json.get("database") is None


def test_every_operation_takes_the_scope_that_the_contract_names(kept_app, services, caller):
    tried = 0
    for address, path in kept_app.extensions[EXTENSION].described()["paths"].items():
        for method in path.keys() & METHODS:
            if not path[method]["security"] or {} in path[method]["security"]:
                continue
            taken = [path[method]["x-scope"]]
            filled = re.sub(r"{\w+}", caller.club, address)
            others = [scope for scope in clubs.SCOPES if scope not in taken]
            narrow = type(caller)(kept_app, clubs.create_token(services, caller.club, "narrow", others).text)
            refused = narrow.call(method.upper(), filled)
            assert refused.status_code == 403, (method, address)
            assert f'scope="{taken[0]}"' in refused.headers["WWW-Authenticate"]
            assert type(caller)(kept_app, None).call(method.upper(), filled).status_code == 401
            right = type(caller)(kept_app, clubs.create_token(services, caller.club, "right", taken).text)
            assert right.call(method.upper(), filled).status_code not in (401, 403)
            tried += 1
    assert tried >= 24


def test_where_clubs_have_tokens_calculations_need_one_too(new_app, services, caller):
    body = {"point_chances": {"own_serve": 0.6, "opponent_serve": 0.6}}
    app = new_app()
    stranger = app.test_client().post("/v1/calculations/win-chance", json=body)
    assert (stranger.status_code, stranger.json["type"]) == (401, "/problems/token-needed")
    assert Caller(app, caller.token).post("/v1/calculations/win-chance", body).status_code == 200
    reader = clubs.create_token(services, caller.club, "reader", ["read"]).text
    assert Caller(app, reader).post("/v1/calculations/win-chance", body).status_code == 403
