"""Every error is a problem document, and keeps the headers that HTTP asks of it."""

import pytest
from werkzeug.datastructures import WWWAuthenticate
from werkzeug.exceptions import TooManyRequests, Unauthorized

from tacticapi.api import create_app
from tacticapi.api.http.problems import ProblemSchema, shortened


def test_a_fault_names_its_place_what_stood_there_and_what_was_expected(client):
    body = {"moment": "set-break", "own": {"a/b~c": 1}, "observations": [{"what": "warmup.low_forehand", "rating": 9}]}
    response = client.post("/v1/suggestions", json=body)
    assert response.status_code == 422
    assert response.content_type == "application/problem+json"
    problem = response.json
    assert ProblemSchema().validate(problem) == {}
    assert (problem["type"], problem["detail"]) == ("/problems/invalid-situation", "2 faults")
    by_place = {error["pointer"]: error for error in problem["errors"]}
    assert by_place["/observations/0/rating"]["value"] == 9
    assert by_place["/observations/0/rating"]["expected"] == "a rating: a whole number from 0 to 4"
    assert by_place["/own/a~1b~0c"]["value"] == 1


def test_a_long_list_of_faults_is_cut_and_counted(client):
    response = client.post("/v1/suggestions", json={"moment": "set-break", "observations": [{}] * 1000})
    assert response.json["detail"] == "1000 faults; the first 100 are listed"
    assert len(response.json["errors"]) == 100


def test_a_doubled_slash_leads_to_the_address_that_is_meant(client):
    response = client.get("/v1//rulebook")
    assert (response.status_code, response.headers["Location"]) == (308, "http://localhost/v1/rulebook")


def test_answers_are_json_or_nothing(client):
    json = ("text/html, */*;q=0.1", "application/*", "application/json; charset=utf-8")
    for accept, status in (("text/html", 406), *((one, 200) for one in json), ("application/schema+json", 406)):
        assert client.get("/v1/rulebook", headers={"Accept": accept}).status_code == status


@pytest.mark.parametrize(
    ("error", "header", "begins"),
    [
        (TooManyRequests(retry_after=7), "Retry-After", "7"),
        (Unauthorized(www_authenticate=WWWAuthenticate("bearer")), "WWW-Authenticate", "Bearer"),
    ],
)
def test_headers_of_an_error_are_kept(adviser, error, header, begins):
    app = create_app({"ADVISER": adviser})

    @app.get("/fails")
    def fails() -> str:
        raise error

    assert app.test_client().get("/fails").headers[header].startswith(begins)


def test_every_answer_carries_a_request_id_and_safe_headers(client):
    for response in (client.get("/livez"), client.get("/nothing"), client.post("/v1/suggestions", json=[])):
        assert len(response.headers["X-Request-ID"]) == 32
        assert response.headers["X-Content-Type-Options"] == "nosniff"
        assert response.headers["Cache-Control"] == "no-store"
    assert client.get("/livez", headers={"X-Request-ID": "a-1.b_C"}).headers["X-Request-ID"] == "a-1.b_C"
    for bad in ("x" * 65, "<script>", "a b", ""):
        assert client.get("/livez", headers={"X-Request-ID": bad}).headers["X-Request-ID"] != bad


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        ("x" * 61, "x" * 59 + "…"),
        ({"a": 1}, "an object with 1 member"),
        (list(range(9)), "a list of 9"),
        ([9, 0], [9, 0]),
        (["x" * 61, None], ["x" * 59 + "…", None]),
        ([[9, 0]], "a list of 1"),
        (float("inf"), "inf"),
        ("\ud800", "?"),
        (True, True),
        (None, None),
    ],
)
def test_a_value_is_shown_short(value, shown):
    assert shortened(value) == shown
