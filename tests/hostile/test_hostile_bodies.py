"""Bodies that mean harm or nonsense: each is refused with its place, none breaks the process."""

import io
import json
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from .bodies import refused

ADDRESS = "/v1/suggestions"
GOOD = {"moment": "set-break"}


def posted(client: FlaskClient, body: bytes, content_type: str | None = "application/json") -> TestResponse:
    return client.post(ADDRESS, data=body, content_type=content_type)


def test_a_byte_order_mark_does_no_harm(client):
    assert posted(client, b"\xef\xbb\xbf" + json.dumps(GOOD).encode()).status_code == 200


@pytest.mark.parametrize(
    "content_type",
    [
        None,
        "",
        "text/plain",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "text/json",
        "application/json; charset=utf-16",
        "application/json; charset=latin-1",
        "application/jsonx",
        "\u00e9/json",
    ],
)
def test_another_media_type_is_refused(client, content_type):
    refused(posted(client, json.dumps(GOOD).encode(), content_type), 415)


@pytest.mark.parametrize("content_type", ["application/json; charset=UTF-8", "application/situation+json"])
def test_json_by_another_name_is_taken(client, content_type):
    assert posted(client, json.dumps(GOOD).encode(), content_type).status_code == 200


class _Unreadable(io.BytesIO):
    """A body that breaks while it is read, as chunks do that break the rules of HTTP."""

    def readinto(self, buffer: object) -> int:
        raise RuntimeError("invalid chunk size")


def test_a_body_that_breaks_while_it_is_read_is_refused(client):
    told = client.post(ADDRESS, input_stream=_Unreadable(b"{}" * 5), content_length=10, content_type="application/json")
    assert refused(told, 400) == []
    assert json.loads(told.data)["detail"] == "the body cannot be read"


def test_a_body_that_hides_its_length_is_refused_too(client):
    body = io.BytesIO(b" " * (2 * 1024 * 1024))
    chunked = {"wsgi.input_terminated": True, "HTTP_TRANSFER_ENCODING": "chunked"}
    sent = {"input_stream": body, "content_type": "application/json", "environ_overrides": chunked}
    refused(client.post(ADDRESS, **sent), 413)


def entry(**changes: Any) -> dict[str, Any]:
    return {"what": "rally.forehand_errors", "count": 2, "of": 8, "set": 1, "game": 3, **changes}


WRONG: dict[str, list[Any]] = {  # what cannot stand at this place of a situation
    "/observations": [{"what": "x"}, "all", [entry()] * 10_001],
    "/observations/0": [[None]],
    "/own": [[]],
    "/own/volley": [{"volley": "3"}, {"volley": True}],
    "/own/handedness": [{"handedness": ["right"]}],
    "/own/favourite_pattern": [{"favourite_pattern": "x" * 501}],
    "/context/wind": [{"wind": ["strong"]}],
    "/context/wind/strength": [{"wind": {}}],
    "/context/wind/direction": [{"wind": {"strength": "light", "direction": "with"}}],
    "/context/heat/air_c": [{"heat": {"air_c": "hot"}}, {"heat": {"air_c": 900}}],
    "/context/format": [{"format": []}],
    "/context/format/sets": [{"format": {"sets": "3"}}],
    "/context/format/final_set": [{"format": {"final_set": ["advantage"]}}],
    "/context/coaching": [{"coaching": {"permitted": True}}],
    "/score": [64],
    "/score/sets": [{"sets": "6-4"}],
    "/score/sets/0": [{"sets": [[7, 2]]}],
    "/score/games": [{"games": [10**9, 0]}],
    "/score/points": [{"points": ["AD", "AD"]}, {"points": [[], {}]}],
    "/score/points/1": [{"points": ["40", "\u0664\u0660"]}, {"games": [6, 6], "points": ["15", "AD"]}],
    "/score/server": [{"server": []}, {"server": "umpire"}],
    "/score/innings": [{"innings": 3}],
    "/points_played/on_serve": [{"on_serve": 3}],
    "/points_played/on_serve/won": [{"on_serve": {"won": 3, "of": 2}}],
    "/own_errors/of": [{"unforced": 1}],
    "/tries": [{"tactic": "x"}],
    "/tries/0": [[[]]],
    "/tries/0/tactic": [[{"tactic": "x" * 1000, "tried": 1, "won": 1}]],
    "/tries/0/won": [[{"tactic": "work-weaker-wing", "tried": 1, "won": 2}]],
    "/previous/beliefs": [{"beliefs": [1]}],
    "/previous/beliefs/weak_low_ball": [{"beliefs": {"weak_low_ball": 7}}],
    "/limit": [0, 2.5, "3", True],
    "/minutes_left": [-1],
    "/moment": [None, ["set-break"], {}],
    "/__proto__": [{}],
}
SEEN: dict[str, list[Any]] = {  # what cannot be said of what was seen
    "count": [entry(count=count) for count in (-1, 9, "2", True, 2.5, [2], {})],
    "of": [
        *(entry(of=of) for of in (None, "8", 2**53)),
        {"what": "serve.tell", "value": "the toss", "of": "many"},
        {"what": "serve.tell", "note": "the toss", "of": 5},
    ],
    "set": [entry(set=2**40), entry(set=0)],
    "what": [*(entry(what=what) for what in (["rally.forehand_errors"], {}, "context.surface")), {"count": 1, "of": 2}],
    "wing": [entry(wing="left"), {"what": "warmup.low_forehand", "rating": 1, "wing": "forehand"}],
    "note": [entry(note=5), entry(note="x" * 501)],
    "rating": [entry(rating=1), {"what": "warmup.low_forehand", "rating": 5}],
    "value": [{"what": "warmup.forehand_ball", "value": "kick"}, {"what": "serve.tell", "value": ""}],
    "counts/centre": [{"what": "serve.ad_court_spots", "counts": {"centre": 2}}],
    "amount": [{"what": "tempo.time_between_points", "amount": 1e9}],
    "seen": [{"what": "serve.late_serve_drop", "seen": 1}],
    "end": [entry(end="east")],
    "ref": [entry(ref="")],
    "shade": [entry(shade="blue")],
}


@pytest.mark.parametrize(
    ("change", "places"),
    [
        *(({at.split("/")[1]: value}, {at}) for at, values in WRONG.items() for value in values),
        *(({"observations": [one]}, {f"/observations/0/{at}"}) for at, wrong in SEEN.items() for one in wrong),
        ({"score": {"sets": [[6, 4]] * 1000}}, {"/score/sets", "/score/sets/2"}),
        ({"_schema": 1}, {""}),
        ({"": 1}, {"/"}),
    ],
)
def test_what_cannot_be_is_refused_where_it_stands(client, change, places):
    for address in (ADDRESS, "/v1/explanations"):
        found = refused(client.post(address, json={**GOOD, **change}), 422)
        assert set(found) == places


@pytest.mark.parametrize(
    "address",
    [
        "/v1/tactics/%00",
        "/v1/tactics/..%2f..%2fetc%2fpasswd",
        "/v1/tactics/%ff%fe",
        "/v1/tactics/" + "x" * 5000,
        "/v1/tactics?category=%00",
        "/v1/tactics?category=%ff",
        "/v1/tactics?cursor=" + "x" * 5000,
        "/v1/vocabulary?page_size=" + "9" * 5000,
        "/v1/vocabulary?page_size=1e3",
        "/v1/vocabulary?page_size=%D9%A3",
        "/v1/vocabulary?page_size=-1",
        "/v1/tactics?category=serve&category=return",
    ],
)
def test_a_hostile_address_is_a_problem_of_the_client(client, address):
    assert 400 <= client.get(address).status_code < 500


@pytest.mark.parametrize("header", ["If-None-Match", "Accept", "X-Request-ID", "Content-Length", "Range", "If-Match"])
@pytest.mark.parametrize("value", ["", "*", "x" * 5000, '"', "\u00ff\u00fe", "-1"])
def test_a_hostile_header_breaks_nothing(client, header, value):
    assert client.get("/v1/rulebook", headers={header: value}).status_code < 500
