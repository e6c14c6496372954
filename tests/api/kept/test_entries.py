"""Observations, points and tries over HTTP: added, corrected, taken back, and added once however often sent."""

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from .conftest import NOWHERE, ON_BOTH_ENGINES

LOW = {"what": "warmup.low_forehand", "rating": 1}
SEEN = {"what": "rally.forehand_errors", "count": 2, "of": 8, "set": 1, "game": 3}
TRIED = {"tactic": "swap-serve-spots", "tried": 4, "won": 2}
JSON_LINES = {"Content-Type": "application/jsonl"}


def lines(*bodies: Any) -> bytes:
    return b"\n".join(body if isinstance(body, bytes) else json.dumps(body).encode() for body in bodies)


def test_an_observation_is_added_and_found_at_its_address(caller, played, valid):
    response = caller.post(f"{played.address}/observations", {**SEEN, "wing": None})
    assert response.status_code == 201, response.text
    valid("Receipt", response.json)
    kept = caller.get(response.headers["Location"]).json
    valid("KeptObservation", kept)
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
        *(("observations", body, {""}) for body in (5, None, [])),
        ("observations", [SEEN, {**SEEN, "count": 9}, 5], {"/1/count", "/2"}),
        ("observations", [{**SEEN, "supersedes": NOWHERE}], {"/0/supersedes"}),
        *(("points", body, {""}) for body in ({}, {"winner": None}, {"score": None}, {"winner": "own", "score": {}})),
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


def test_json_lines_are_answered_line_by_line(caller, played, valid):
    body = lines(SEEN, b"", b"{", {**SEEN, "count": 9}, b'{"what": "a", "what": "b"}', LOW, b"  ", b"\xff", 5)
    response = caller.post(f"{played.address}/observations", data=body + b"\r\n", headers=JSON_LINES)
    assert response.status_code == 200, response.text
    valid("Lines", response.json)
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
    told = [(item["id"], item.get("supersedes"), item.get(name)) for item in kept]
    assert told == [(first, None, body), (second, first, changed), (third, second, None)]
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


@ON_BOTH_ENGINES
@pytest.mark.parametrize(
    ("noun", "body", "other"),
    [
        ("observations", SEEN, LOW),
        ("observations", [SEEN, LOW], [SEEN]),
        ("points", {"winner": "own"}, {"winner": "opponent"}),
        ("points", [{"winner": "own"}, {"winner": "opponent"}], {"winner": "own"}),
        ("tries", [TRIED, TRIED], TRIED),
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


@pytest.mark.parametrize("key", ["", "x" * 256, "caf\u00e9"])
def test_what_is_no_key_is_refused_by_the_header_s_name(caller, played, key):
    response = caller.post(f"{played.address}/points", {"winner": "own"}, headers={"Idempotency-Key": key})
    assert (response.status_code, response.json["type"]) == (422, "/problems/invalid-header")
    assert response.json["errors"][0]["parameter"] == "Idempotency-Key"


def test_a_point_answers_with_the_score(caller, played, valid):
    scored = caller.made(f"{played.address}/points", {"winner": "opponent", "own_error": True})
    valid("Scored", scored)
    assert scored.get("score") == {"sets": [], "games": [0, 0], "points": ["0", "15"], "server": "own"}
    last = {"sets": [[6, 4]], "games": [5, 3], "points": ["40", "0"], "server": "own"}
    caller.made(f"{played.address}/points", {"score": last})
    won = caller.made(f"{played.address}/points", {"winner": "own"})
    assert (won.get("winner"), won["score"]["sets"]) == ("own", [[6, 4], [6, 3]])
    late = caller.post(f"{played.address}/points", {"winner": "own"})
    assert (late.status_code, late.json["errors"][0]["code"]) == (409, "match-decided")


@ON_BOTH_ENGINES
def test_entries_come_in_pages_that_answer_304_while_nothing_is_added(caller, under_way, valid):
    shapes = {"observations": "KeptObservationPage", "points": "KeptPointPage", "tries": "KeptTriesPage"}
    for noun, shape in shapes.items():
        address = f"{under_way.address}/{noun}"
        whole = [item["id"] for item in caller.get(f"{address}?page_size=100").json["items"]]
        found = []
        for page in caller.pages(f"{address}?page_size=4"):
            valid(shape, page.json)
            assert caller.get(page.request.url, headers={"If-None-Match": page.headers["ETag"]}).status_code == 304
            found += [item["id"] for item in page.json["items"]]
        assert found == whole
    assert caller.get(f"{under_way.address}/points?cursor=abc").json["errors"][0]["parameter"] == "cursor"


@ON_BOTH_ENGINES
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


LISTS: list[tuple[str, Any, Any, str]] = [
    ("points", [{"winner": "own"}, {"winner": "opponent", "own_error": True}], {"winner": "umpire"}, "/winner"),
    ("tries", [TRIED, {**TRIED, "tactic": "attack-second-serve"}], {**TRIED, "won": 5}, "/won"),
    ("observations", [SEEN, LOW], {**LOW, "rating": 9}, "/rating"),
]


@ON_BOTH_ENGINES
@pytest.mark.parametrize(("noun", "bodies", "bad", "place"), LISTS)
def test_of_a_list_all_are_added_or_none(caller, played, noun, bodies, bad, place):
    address = f"{played.address}/{noun}"
    for wrong in (bad, {**bodies[0], "colour": 1}, {**bodies[0], "withdraws": NOWHERE}):
        refused = caller.post(address, [*bodies, wrong])
        assert refused.status_code == 422
        places = {fault["pointer"].removeprefix("/2") for fault in refused.json["errors"]}
        assert places <= {place, "/colour", "/withdraws"}
    assert [fault["pointer"] for fault in caller.post(address, [bodies[0], 7]).json["errors"]] == ["/1"]
    for posted in ([], bodies * 501):
        (fault,) = caller.post(address, posted).json["errors"]
        assert (fault["pointer"], fault["expected"]) == ("", "a list of 1 to 1,000 entries")
    assert caller.get(address).json == {"items": []}


def test_a_list_of_points_is_played_in_its_order_and_answers_with_the_score(caller, played):
    address = f"{played.address}/points"
    late = {"sets": [[6, 4]], "games": [5, 3], "points": ["40", "0"], "server": "own"}
    scored = caller.made(address, [{"winner": "opponent"}, {"score": late}, {"winner": "opponent"}])
    assert scored["score"]["points"] == ["40", "15"]
    won = caller.made(address, [{"winner": "own"}])
    assert (won["winner"], won["score"]["sets"]) == ("own", [[6, 4], [6, 3]])
    caller.made(address, {"withdraws": won["items"][0]["id"]})
    over = caller.post(address, [{"winner": "opponent"}, {"winner": "own"}, {"winner": "own"}])
    assert (over.status_code, over.json["errors"][0]["pointer"]) == (409, "/2/winner")
    assert over.json["errors"][0]["code"] == "match-decided"
    wrong = caller.post(address, [{"winner": "own"}, {"score": {"sets": [[7, 2]]}}])
    assert [fault["pointer"] for fault in wrong.json["errors"]] == ["/1/score/sets/0"]
    assert caller.get(f"{played.address}/score").json["score"]["points"] == ["40", "15"]


def test_tries_of_a_list_beyond_the_sum_are_refused_where_the_last_of_them_stands(caller, played):
    other = {**TRIED, "tactic": "attack-second-serve"}
    many = [{**TRIED, "tried": 1000, "won": 0}, other, {**TRIED, "tried": 1001, "won": 0}, other]
    refused = caller.post(f"{played.address}/tries", many)
    assert [(fault["pointer"], fault["value"]) for fault in refused.json["errors"]] == [("/2/tried", 2001)]
    assert caller.get(f"{played.address}/tries").json == {"items": []}


@pytest.mark.parametrize(("noun", "bodies", "name"), [(*one[:2], one[0].removesuffix("s")) for one in LISTS])
def test_who_entered_it_and_when_it_was_seen_are_kept(caller, played, noun, bodies, name):
    address, member = f"{played.address}/{noun}", "tries" if noun == "tries" else name
    told = {**bodies[0], "by": "Ann at court 2", "observed_at": "2026-05-01T09:00:00.5+02:00"}
    listed = caller.made(address, [told, bodies[1]])["items"]
    alone = caller.made(address, {**told, "supersedes": listed[0]["id"]})["id"]
    for id in (listed[0]["id"], alone):
        kept = caller.get(f"{address}/{id}").json
        assert kept["observed_at"] == "2026-05-01T07:00:00.500000+00:00"
        assert kept[member] == {**bodies[0], "by": "Ann at court 2"}
    assert "observed_at" not in caller.get(f"{address}/{listed[1]['id']}").json
    for wrong in ("2099-01-01T00:00:00Z", "2026-05-01T09:00:00", "2026-05-01", "now", 7, "1899-12-31T23:59:59Z"):
        refused = caller.post(address, [bodies[0], {**bodies[1], "observed_at": wrong}])
        assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, "/1/observed_at"), wrong
    for wrong in ("", "x" * 51, 7):
        assert caller.post(address, {**bodies[0], "by": wrong}).json["errors"][0]["pointer"] == "/by"


def test_the_clock_of_a_phone_may_be_some_minutes_ahead(caller, played):
    address, now = f"{played.address}/observations", datetime.now(UTC)
    for minutes, status in ((4, 201), (6, 422)):
        ahead = (now + timedelta(minutes=minutes)).isoformat()
        assert caller.post(address, {**SEEN, "observed_at": ahead}).status_code == status


def test_after_the_end_a_health_item_is_a_conflict_and_the_rest_is_taken(caller, played):
    address, legs = f"{played.address}/observations", {"what": "physical.heavy_legs", "seen": True}
    caller.post(f"{played.address}/end")
    for posted, place in ((legs, "/what"), ([SEEN, legs], "/1/what")):
        late = caller.post(address, posted)
        assert (late.status_code, late.json["type"]) == (409, "/problems/state-conflict")
        assert [(fault["pointer"], fault["code"]) for fault in late.json["errors"]] == [(place, "match-ended")]
    told = caller.post(address, data=lines(SEEN, legs), headers=JSON_LINES).json
    assert (told["added"], told["refused"], told["items"][1]["errors"][0]["code"]) == (1, 1, "match-ended")
    caller.made(address, LOW)
