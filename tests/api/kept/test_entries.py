"""Observations, points and tries over HTTP: added, corrected, taken back, and added once however often sent."""

import json
from typing import Any

import pytest

from tacticapi.api.entries import (
    KeptObservationSchema,
    KeptPointSchema,
    KeptTriesSchema,
    LinesSchema,
    ReceiptSchema,
    ScoredSchema,
)
from tacticapi.api.http.paging import page_schema

LOW = {"what": "warmup.low_forehand", "rating": 1}
SEEN = {"what": "rally.forehand_errors", "count": 2, "of": 8, "set": 1, "game": 3}
TRIED = {"tactic": "swap-serve-spots", "tried": 4, "won": 2}
NOWHERE = "01970000-0000-7000-8000-000000000000"
JSON_LINES = {"Content-Type": "application/jsonl"}


def lines(*bodies: Any) -> bytes:
    return b"\n".join(body if isinstance(body, bytes) else json.dumps(body).encode() for body in bodies)


def test_an_observation_is_added_and_found_at_its_address(caller, played):
    response = caller.post(f"{played.address}/observations", {**SEEN, "wing": None})
    assert response.status_code == 201, response.text
    assert ReceiptSchema().validate(response.json) == {}
    kept = caller.get(response.headers["Location"]).json
    assert KeptObservationSchema().validate(kept) == {}
    assert kept == {**response.json, "observation": SEEN}


@pytest.mark.parametrize(
    ("noun", "body", "places"),
    [
        ("observations", {**SEEN, "count": 9}, {"/count"}),
        ("observations", {**SEEN, "mood": "bad", "what": "no.such"}, {"/mood", "/what"}),
        ("observations", {**SEEN, "note": "x" * 501}, {"/note"}),
        ("observations", {**SEEN, "supersedes": 5}, {"/supersedes"}),
        ("observations", {**SEEN, "withdraws": NOWHERE}, {"/withdraws"}),
        ("observations", {"what": "own.volley", "rating": 1}, {"/what"}),
        ("observations", 5, {""}),
        ("observations", None, {""}),
        ("observations", [], {""}),
        ("observations", [SEEN, {**SEEN, "count": 9}, 5], {"/1/count", "/2"}),
        ("observations", [{**SEEN, "supersedes": NOWHERE}], {"/0/supersedes"}),
        ("points", {}, {""}),
        ("points", {"winner": None}, {""}),
        ("points", {"score": None}, {""}),
        ("points", {"winner": "own", "score": {}}, {""}),
        ("points", {"winner": "umpire"}, {"/winner"}),
        ("points", {"winner": ["own"]}, {"/winner"}),
        ("points", {"winner": "own", "own_error": True}, {"/own_error"}),
        ("points", {"winner": "opponent", "own_error": 1}, {"/own_error"}),
        ("points", {"score": {"sets": [[7, 2]]}}, {"/score/sets/0"}),
        ("points", {"score": 5}, {"/score"}),
        ("points", {"winner": "own", "set": 1}, {"/set"}),
        ("tries", {}, {"/tactic"}),
        ("tries", {**TRIED, "won": 5}, {"/won"}),
        ("tries", {**TRIED, "tactic": "no-such"}, {"/tactic"}),
        ("tries", {**TRIED, "tried": None}, {"/tried"}),
        ("tries", {**TRIED, "tried": 1.5}, {"/tried"}),
    ],
)
def test_what_cannot_be_is_refused_with_its_place(caller, played, noun, body, places):
    address = f"{played.address}/{noun}"
    response = caller.call("POST", address, data=json.dumps(body), content_type="application/json")
    assert response.status_code == 422
    assert places <= {error["pointer"] for error in response.json["errors"]}
    assert caller.get(address).json == {"items": []}


def test_json_lines_are_answered_line_by_line(caller, played):
    body = lines(SEEN, b"", b"{", {**SEEN, "count": 9}, b'{"what": "a", "what": "b"}', LOW, b"  ", b"\xff", 5)
    response = caller.post(f"{played.address}/observations", data=body + b"\r\n", headers=JSON_LINES)
    assert response.status_code == 200, response.text
    assert LinesSchema().validate(response.json) == {}
    assert (response.json["added"], response.json["refused"]) == (2, 5)
    told = {item["line"]: item.get("errors") for item in response.json["items"]}
    assert sorted(told) == [1, 3, 4, 5, 6, 8, 9]
    assert told[1] is told[6] is None
    assert told[4][0]["pointer"] == "/count"
    assert told[5][0]["pointer"] == "/what"
    kept = caller.get(f"{played.address}/observations").json["items"]
    assert [item.get("observation") for item in kept] == [SEEN, LOW]


def test_json_lines_sent_again_are_added_once_and_answered_alike(caller, played):
    headers = {"Content-Type": "application/x-ndjson", "Idempotency-Key": "drive 7"}
    body = lines(SEEN, {**SEEN, "count": 9}, LOW)
    first, again = (caller.post(f"{played.address}/observations", data=body, headers=headers) for _ in range(2))
    assert first.json == again.json
    assert len(caller.get(f"{played.address}/observations").json["items"]) == 2
    other = caller.post(f"{played.address}/observations", data=lines(LOW), headers=headers)
    assert other.json["type"] == "/problems/idempotency-key-reused"


def test_too_many_lines_are_refused(caller, played):
    response = caller.post(f"{played.address}/observations", data=b"5\n" * 2001, headers=JSON_LINES)
    assert (response.status_code, response.json["detail"]) == (413, "at most 2,000 lines")


@pytest.mark.parametrize(
    ("noun", "body", "changed"),
    [
        ("observations", SEEN, {**SEEN, "count": 3}),
        ("points", {"winner": "own"}, {"winner": "opponent", "own_error": True}),
        ("tries", TRIED, {**TRIED, "won": 3}),
    ],
)
def test_an_entry_is_corrected_and_taken_back_by_further_ones(caller, played, noun, body, changed):
    address, name = f"{played.address}/{noun}", {"observations": "observation", "points": "point"}.get(noun, noun)
    first = caller.made(address, body)["id"]
    second = caller.made(address, {**changed, "supersedes": first})["id"]
    stale = caller.post(address, {**body, "supersedes": first})
    assert (stale.status_code, stale.json["newest"]) == (409, second)
    (fault,) = stale.json["errors"]
    assert (fault["pointer"], fault["code"]) == ("/supersedes", "entry-superseded")
    third = caller.made(address, {"withdraws": second})["id"]
    assert caller.post(address, {"withdraws": second}).json["errors"][0]["code"] == "entry-superseded"
    kept = caller.get(address).json["items"]
    assert [(item["id"], item.get("supersedes"), item.get(name)) for item in kept] == [
        (first, None, body),
        (second, first, changed),
        (third, second, None),
    ]
    assert caller.get(f"{address}/{first}").json == kept[0]
    assert caller.post(address, {**body, "supersedes": NOWHERE}).status_code == 404
    assert caller.post(address, {"withdraws": NOWHERE}).status_code == 404
    assert caller.post(address, {"withdraws": third, **body}).json["errors"][0]["pointer"] == "/withdraws"
    assert caller.get(f"{address}/{NOWHERE}").status_code == 404


def test_an_entry_of_another_match_is_not_found_in_this_one(caller, played):
    other = caller.made("/v1/matches", {"own_id": played.own, "opponent_id": played.opponent})["id"]
    for noun, body in (("observations", SEEN), ("points", {"winner": "own"}), ("tries", TRIED)):
        entry = caller.made(f"{played.address}/{noun}", body)["id"]
        assert caller.get(f"/v1/matches/{other}/{noun}/{entry}").status_code == 404
        assert caller.post(f"/v1/matches/{other}/{noun}", {**body, "supersedes": entry}).status_code == 404


@pytest.mark.parametrize(
    ("noun", "body", "other"),
    [
        ("observations", SEEN, LOW),
        ("observations", [SEEN, LOW], [SEEN]),
        ("points", {"winner": "own"}, {"winner": "opponent"}),
        ("tries", TRIED, {**TRIED, "won": 3}),
    ],
)
def test_what_is_sent_again_with_its_key_is_added_once(caller, played, noun, body, other):
    address, key = f"{played.address}/{noun}", {"Idempotency-Key": "0197-a"}
    first = caller.post(address, body, headers=key)
    again = caller.post(address, body, headers=key)
    assert (again.status_code, again.json) == (201, first.json)
    assert again.headers.get("Location") == first.headers.get("Location")
    kept = caller.get(address).json["items"]
    reused = caller.post(address, other, headers=key)
    assert (reused.status_code, reused.json["type"]) == (422, "/problems/idempotency-key-reused")
    assert caller.get(address).json["items"] == kept
    assert len(kept) == (2 if isinstance(body, list) else 1)


def test_a_refused_request_may_be_mended_under_its_key(caller, played):
    key = {"Idempotency-Key": "0197-b"}
    assert caller.post(f"{played.address}/points", {"winner": "own", "own_error": True}, headers=key).status_code == 422
    caller.made(f"{played.address}/points", {"winner": "own"}, headers=key)


@pytest.mark.parametrize("key", ["", "x" * 256, "caf\u00e9"])
def test_what_is_no_key_is_refused_by_the_header_s_name(caller, played, key):
    response = caller.post(f"{played.address}/points", {"winner": "own"}, headers={"Idempotency-Key": key})
    assert (response.status_code, response.json["type"]) == (422, "/problems/invalid-header")
    assert response.json["errors"][0]["parameter"] == "Idempotency-Key"


def test_a_point_answers_with_the_score(caller, played):
    scored = caller.made(f"{played.address}/points", {"winner": "opponent", "own_error": True})
    assert ScoredSchema().validate(scored) == {}
    assert scored.get("score") == {"sets": [], "games": [0, 0], "points": ["0", "15"], "server": "own"}
    last = {"sets": [[6, 4]], "games": [5, 3], "points": ["40", "0"], "server": "own"}
    caller.made(f"{played.address}/points", {"score": last})
    won = caller.made(f"{played.address}/points", {"winner": "own"})
    assert (won.get("winner"), won["score"]["sets"]) == ("own", [[6, 4], [6, 3]])
    late = caller.post(f"{played.address}/points", {"winner": "own"})
    assert (late.status_code, late.json["errors"][0]["code"]) == (409, "match-decided")


def test_entries_come_in_pages_that_answer_304_while_nothing_is_added(caller, under_way):
    shapes = {"observations": KeptObservationSchema, "points": KeptPointSchema, "tries": KeptTriesSchema}
    for noun, shape in shapes.items():
        schema = page_schema(shape)
        address = f"{under_way.address}/{noun}"
        whole = [item["id"] for item in caller.get(f"{address}?page_size=100").json["items"]]
        found = []
        for page in caller.pages(f"{address}?page_size=4"):
            assert schema.validate(page.json) == {}
            assert caller.get(page.request.url, headers={"If-None-Match": page.headers["ETag"]}).status_code == 304
            found += [item["id"] for item in page.json["items"]]
        assert found == whole
    assert caller.get(f"{under_way.address}/points?cursor=abc").json["errors"][0]["parameter"] == "cursor"


def test_observations_are_found_by_kind_set_and_game(caller, played):
    address = f"{played.address}/observations"
    caller.made(address, [SEEN, LOW, {**SEEN, "game": 4}, {**SEEN, "set": 2}])

    def kept(query: str) -> list[Any]:
        return [item.get("observation") for item in caller.get(f"{address}?{query}").json["items"]]

    assert kept("what=warmup.low_forehand") == [LOW]
    assert kept("set=1") == [SEEN, {**SEEN, "game": 4}]
    assert kept("game=3&set=2") == [{**SEEN, "set": 2}]
    assert kept("what=no.such") == []
    pages = caller.pages(f"{address}?set=1&page_size=1")
    assert [item["observation"]["game"] for page in pages for item in page.json["items"]] == [3, 4]


def test_tries_of_one_tactic_never_exceed_what_a_match_has_points_for(caller, under_way):
    address = f"{under_way.address}/tries"
    first = caller.made(address, {"tactic": "swap-serve-spots", "tried": 1390, "won": 1390})
    caller.made(address, {"tactic": "swap-serve-spots", "tried": 610, "won": 610})
    more = {"tactic": "swap-serve-spots", "tried": 1, "won": 0}
    refused = caller.post(address, more)
    assert refused.status_code == 422
    assert [fault["pointer"] for fault in refused.json["errors"]] == ["/tried"]
    assert "2,000" in refused.json["errors"][0]["expected"]
    caller.made(address, {**more, "supersedes": first["id"]})
    caller.made(address, {**more, "tactic": "attack-second-serve"})
    for below in ("suggestions?moment=change-of-ends", "card?moment=change-of-ends"):
        assert caller.get(f"{under_way.address}/{below}").status_code == 200
    assert caller.post(f"{under_way.address}/end").status_code == 200
    assert caller.get(f"{under_way.address}/debrief").status_code == 200
