"""A posted situation that names a kept opponent begins where earlier matches ended, and says so."""

from typing import Any

import pytest
from sqlalchemy import event

from tacticapi.api.advice import AdviceSchema
from tacticapi.api.situations import SituationError, read_situation
from tacticapi.club import clubs

from .conftest import NOWHERE, Caller

ADDRESSES = ("/v1/suggestions", "/v1/explanations")
EVERY_TRAIT = "include=beliefs"
WHOLE = {"/v1/suggestions": EVERY_TRAIT, "/v1/explanations": ""}


@pytest.fixture
def met(caller: Caller, under_way: Any) -> Any:
    """An opponent whom our club has met once."""
    assert caller.post(f"{under_way.address}/end").status_code == 200
    return under_way


def asked(opponent_id: Any = None, **more: Any) -> dict[str, Any]:
    context = {"surface": "hard", "coaching": "permitted", "device": "coach"}
    return {"moment": "before-match", "context": context, "opponent_id": opponent_id, **more}


@pytest.mark.parametrize("address", ADDRESSES)
def test_beliefs_begin_where_earlier_matches_ended_and_say_so(caller, met, address):
    day = caller.get(met.address).json["started_at"][:10]
    plain, known = (caller.post(address, asked(id), query_string=WHOLE[address]).json for id in (None, met.opponent))
    assert AdviceSchema(partial=True, unknown="exclude").validate(known) == {}
    assert day in known["notice"][0]
    assert not any(day in line for line in plain["notice"])
    moved = [b for b in known["beliefs"] if any(part["text"].startswith(f"{day}: ") for part in b["because"])]
    assert moved
    before = {(b["trait"], b.get("wing")): b for b in plain["beliefs"]}
    for belief in moved:
        other = before[belief["trait"], belief.get("wing")]
        assert belief["prior"] == other["prior"]
    assert any(b["probability"] != before[b["trait"], b.get("wing")]["probability"] for b in moved)


def test_the_dossier_and_the_next_match_believe_the_same(caller, met):
    profile = caller.get(f"/v1/players/{met.opponent}").json["facts"]
    known = caller.post(f"/v1/suggestions?{EVERY_TRAIT}", asked(met.opponent, opponent=profile)).json
    body = {"own_id": met.own, "opponent_id": met.opponent, "context": asked()["context"]}
    match = caller.made("/v1/matches", body)["id"]
    live = caller.get(f"/v1/matches/{match}/suggestions?moment=before-match&{EVERY_TRAIT}").json
    beliefs = [{(b["trait"], b.get("wing")): b["probability"] for b in each["beliefs"]} for each in (known, live)]
    assert beliefs[0] == pytest.approx(beliefs[1], abs=0.002)


@pytest.mark.parametrize("address", ADDRESSES)
def test_whom_the_club_does_not_have_is_refused_by_the_pointer_and_nothing_is_told(caller, stranger, met, address):
    answers = set()
    for who, id in ((stranger, met.opponent), (caller, met.own), (caller, NOWHERE)):
        response = who.post(address, asked(id))
        assert (response.status_code, response.json["type"]) == (404, "/problems/not-found")
        (fault,) = response.json["errors"]
        assert (fault["pointer"], fault["value"]) == ("/opponent_id", id)
        answers.add(response.text.replace(f'"{id}"', '"ID"'))
    assert len(answers) == 1
    no_id = caller.post(address, asked("x"))
    assert (no_id.status_code, no_id.json["errors"][0]["pointer"]) == (422, "/opponent_id")


def test_nobody_is_known_without_a_token_with_the_scope_of_advice(kept_app, services, caller, met):
    nobody = Caller(kept_app, None)
    response = nobody.post("/v1/suggestions", asked(met.opponent))
    assert (response.status_code, "WWW-Authenticate" in response.headers) == (401, True)
    assert nobody.post("/v1/suggestions", asked()).status_code == 200
    for scope, status in (("read", 403), ("advise", 200)):
        scoped = Caller(kept_app, clubs.create_token(services, caller.club, scope, [scope]).text)
        assert scoped.post("/v1/suggestions", asked(met.opponent)).status_code == status


def test_without_a_database_a_named_opponent_is_unavailable(new_app):
    app = new_app(address=None)
    assert app.test_client().post("/v1/suggestions", json=asked(NOWHERE)).status_code == 503
    assert app.test_client().post("/v1/suggestions", json=asked()).status_code == 200


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_situation_that_names_nobody_never_reaches_the_database(caller, services, address):
    reached: list[str] = []

    def noted(connection: Any, cursor: Any, statement: str, *more: Any) -> None:
        reached.append(statement)

    event.listen(services.engine, "before_cursor_execute", noted)
    try:
        assert Caller(caller.app, None).post(address, asked()).status_code == 200
        assert reached == []
        assert caller.post(address, asked(NOWHERE)).status_code == 404
        assert reached
    finally:
        event.remove(services.engine, "before_cursor_execute", noted)


def test_outside_the_service_nobody_is_known(rulebook):
    with pytest.raises(SituationError) as refused:
        read_situation(asked(NOWHERE), rulebook)
    assert [fault.path for fault in refused.value.faults] == [("opponent_id",)]
