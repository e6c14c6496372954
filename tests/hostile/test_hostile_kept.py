"""Bodies, lines, headers and addresses of kept nouns that mean harm or nonsense: answered, never a failure of ours."""

import json
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from tacticapi.api.http.problems import ProblemSchema
from tacticapi.club.retention import sweep

from ..databases import add, services_of
from .bodies import any_json, changed

SEEN = {"what": "rally.forehand_errors", "count": 2, "of": 8, "set": 1, "game": 3, "note": "into the net"}
TRIED = {"tactic": "swap-serve-spots", "tried": 4, "won": 2}
SCORE = {"sets": [[6, 4]], "games": [5, 3], "points": ["40", "0"], "server": "own"}
VALUES = any_json("own", "opponent", "forehand", "40", "used", "2026-05-01T09:00:00Z", 0, 1)
FEW = settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
Bodies = dict[str, Any]


@pytest.fixture(scope="module")
def good(kept: Flask) -> Bodies:
    """A good body for every address that takes one, but for a match that goes on."""
    client = kept.test_client()
    own = add(client, "/v1/players", {"side": "own", "label": "Larch"})
    opponent = add(client, "/v1/players", {"side": "opponent", "label": "Sleet"})
    players = {"own_id": own, "opponent_id": opponent}
    match = f"/v1/matches/{add(client, '/v1/matches', players)}"
    add(client, f"{match}/observations", SEEN)
    advice = json.loads(client.get(f"{match}/suggestions?moment=change-of-ends").data)
    context = {"surface": "clay", "format": {"sets": 3}, "wind": {"strength": "light"}}
    return {
        "POST /v1/players": {"side": "own", "label": "Elm", "facts": {"volley": 3}},
        f"PATCH /v1/players/{own}": {"label": "Larch", "facts": {"volley": 3}},
        "POST /v1/matches": {**players, "context": context, "own": {"volley": 3}, "started_at": "2026-05-01T09:00:00Z"},
        f"PATCH {match}": {"context": context, "opponent": {"handedness": "left"}, "first_server": "own"},
        f"POST {match}/observations": SEEN,
        f"POST {match}/points": {"score": SCORE},
        f"POST {match}/tries": TRIED,
        f"POST /v1/advice/{advice['advice_id']}/feedback": {"tactic": "x", "kind": "not-used", "reason": "too windy"},
    }


def observations(good: Bodies) -> str:
    return next(what for what in good if what.endswith("/observations")).split(" ")[1]


def sent(app: Flask, what: str, body: Any, **headers: str) -> TestResponse:
    method, address = what.split(" ")
    text = json.dumps(body).encode("utf-8", "surrogatepass")
    return app.test_client().open(
        address, method=method, data=text, content_type="application/json", headers={"If-Match": "*", **headers}
    )


def answered(response: TestResponse) -> None:
    assert response.status_code in (200, 201, 400, 404, 422), response.text
    answer = json.loads(response.data, parse_constant=pytest.fail)
    if response.status_code >= 400:
        assert ProblemSchema().validate(answer) == {}
        assert response.status_code == 404 or all(error["expected"] for error in answer["errors"])


@settings(FEW, max_examples=80)
@given(data=st.data())
def test_a_good_body_with_something_changed_is_answered(kept, good, data):
    what = data.draw(st.sampled_from(sorted(good)))
    names = data.draw(
        st.dictionaries(st.sampled_from(["supersedes", "withdraws", "id", "club_id"]), VALUES, max_size=1)
    )
    answered(sent(kept, what, {**changed(data, good[what], VALUES), **names}))


@FEW
@given(text=st.lists(st.binary(max_size=40) | VALUES.map(lambda v: json.dumps(v).encode()), max_size=8))
def test_any_lines_are_answered_line_by_line(kept, good, text):
    body = b"\n".join(text)
    response = kept.test_client().post(observations(good), data=body, content_type="application/jsonl")
    assert response.status_code == 200, response.text
    told = json.loads(response.data)
    assert told["refused"] == len([line for line in body.split(b"\n") if line.strip()])
    assert all(item["errors"] for item in told["items"])


BELOW = {"what": "/observations", "tactic": "/tries", "score": "/points"}
EXTREME: list[Any] = [
    {"what": "serve.followed_to_net", "count": 10_000, "of": 10_000, "set": 5, "game": 13},
    {"what": "serve.followed_to_net", "count": 0, "of": 10_000},
    {"what": "serve.deuce_court_spots", "counts": {"wide": 10_000, "body": 10_000, "T": 0}},
    {"what": "record.time_between_points", "amount": 0},
    {"what": "pressure.best_spell", "value": "\u202e" * 500, "note": "=1+1", "by": "\u00e9" * 50, "ref": "x" * 100},
    {"what": "record.last_points", "value": "W" * 40},
    {"tactic": "swap-serve-spots", "tried": 0, "won": 0},
    {"score": {"sets": [[7, 6], [6, 7]], "games": [6, 6], "points": ["999", "998"], "server": "own"}},
    {"started_at": "0001-01-01T00:00:00+14:00"},
    {"started_at": "1900-01-01T00:00:00Z"},
    {"started_at": "9999-12-31T23:59:59-12:00"},
    {"context": {"format": {"sets": 5, "final_set": "advantage"}, "heat": {"air_c": -30, "humidity": 0, "wbgt": -20}}},
    {"own": dict.fromkeys(("volley", "speed", "fitness", "first_serve", "second_serve"), 0)},
]


def test_extremes_that_are_taken_in_break_nothing_later(kept, good):
    client = kept.test_client()
    match = observations(good).removesuffix("/observations")
    taken = []
    for body in EXTREME:
        below = next((name for key, name in BELOW.items() if key in body), None)
        answer = sent(kept, f"POST {match}{below}" if below else f"PATCH {match}", body)
        answered(answer)
        taken.append(answer.status_code < 400)
    assert taken.count(False) <= 4
    assert taken[8:11] == [False, True, False]
    assert json.loads(client.get(f"{match}/suggestions?moment=change-of-ends&include=beliefs").data)["beliefs"]


@pytest.mark.parametrize("header", ["If-Match", "If-None-Match", "Idempotency-Key", "Authorization", "Host"])
@pytest.mark.parametrize("value", ["", "*", "x" * 5000, '"', 'W/"1"', "\u00ff\u00fe", "Bearer " + "A" * 5000, '"1", *'])
def test_a_hostile_header_breaks_nothing(kept, good, header, value):
    for what, body in good.items():
        assert sent(kept, what, body, **{header: value}).status_code < 500


@pytest.mark.parametrize(
    "address",
    [
        "/v1/players/%00",
        "/v1/players/..%2f..",
        "/v1/matches/00000000-0000-0000-0000-00000000000%00",
        "/v1/players?cursor=%00",
        "/v1/players?cursor=" + "1" * 300,
        "/v1/players?label=%00",
        "/v1/players?label=%ff",
        "/v1/players?fields=" + "," * 400,
        "/v1/players?fields=label,label",
        "/v1/matches?own_id=%27%20OR%201=1",
        "/v1/matches?own_id=%00",
    ],
)
def test_a_hostile_address_is_answered(kept, good, address):
    assert kept.test_client().get(address).status_code < 500


def test_a_packed_or_huge_bulk_is_refused_and_a_hostile_page_is_answered(kept, good):
    address = observations(good)
    client = kept.test_client()
    cursors = ("9999999999", "-1", "1e3", "%D9%A3")
    for query in (*(f"cursor={one}" for one in cursors), "what=%00", "set=99999", "set=-1", "game=x"):
        assert client.get(f"{address}?{query}").status_code in (200, 422), query
    packed = client.post(address, data=b"x", content_type="application/jsonl", headers={"Content-Encoding": "gzip"})
    assert packed.status_code == 415
    assert client.post(address, data=b"\n" * (1024 * 1024 + 1), content_type="application/jsonl").status_code == 413
    assert client.post(address, data=b"5\n" * 2001, content_type="application/jsonl").status_code == 413
    empty = client.post(address, data=b"", content_type="application/jsonl").json
    assert empty == {"items": [], "added": 0, "refused": 0}


def test_at_the_end_all_that_was_tried_is_read_exported_ended_debriefed_and_swept(kept, good):
    client, services = kept.test_client(), services_of(kept)
    matches = json.loads(client.get("/v1/matches?page_size=100").data)["items"]
    assert matches
    for match in matches:
        address = f"/v1/matches/{match['id']}"
        for below in ("", "/score", "/observations", "/points", "/tries", "/advice", "/feedback"):
            assert client.get(address + below).status_code == 200
        assert client.get(f"{address}/suggestions?moment=change-of-ends").status_code in (200, 422)
        for picture in ("win-curve", "beliefs", "serve-spots"):
            assert client.get(f"{address}/pictures/{picture}").status_code in (200, 403, 404)
    assert '"end":true' in client.get("/v1/club/export").text.splitlines()[-1]
    for match in matches:
        assert client.post(f"/v1/matches/{match['id']}/end").status_code == 200
        for form in ("application/json", "text/markdown", "text/html"):
            answer = client.get(f"/v1/matches/{match['id']}/debrief", headers={"Accept": form})
            assert answer.status_code == 200, answer.text
    for player in json.loads(client.get("/v1/players?page_size=100").data)["items"]:
        assert client.get(f"/v1/players/{player['id']}/dossier").status_code in (200, 404)
    assert '"end":true' in client.get("/v1/club/export").text.splitlines()[-1]
    assert sweep(replace(services, now=lambda: services.now() + timedelta(days=2_000))).failed == 0
    assert json.loads(client.get("/v1/matches").data)["items"] == []
