"""The log tells of every request and of every failure, and never who was written about or what opened the door."""

import io
import json
import logging
import re
from collections.abc import Iterator
from functools import partial
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tacticapi.api.contract import METHODS
from tacticapi.api.http.deployment import EXTENSION
from tacticapi.api.http.middleware import set_up_logs
from tacticapi.club import clubs

from ...databases import add

CANARY = "Canarybird"
SEEN = {"what": "rally.forehand_errors", "count": 2, "of": 8, "set": 1, "game": 3, "note": CANARY}


@pytest.fixture
def log() -> Iterator[io.StringIO]:
    """All that this process logs, down to the least of it."""
    root = logging.getLogger()
    before, level, told = list(root.handlers), root.level, io.StringIO()
    set_up_logs("debug", told)
    yield told
    root.handlers[:] = before
    root.setLevel(level)


def lines(log: io.StringIO, event: str = "request") -> list[dict[str, Any]]:
    return [line for line in map(json.loads, log.getvalue().splitlines()) if line["event"] == event]


HEADERS = {
    **{"Idempotency-Key": CANARY, "If-Match": f'"{CANARY}"', "X-Canary": CANARY},
    **{"Origin": f"http://{CANARY}.example", "Referer": f"http://{CANARY}.example/"},
}


def sent_everywhere(client: FlaskClient, contract: dict[str, Any]) -> int:
    """Every operation of the contract with the canary wherever something can stand; how many that are."""
    done = 0
    for path, operations in contract["paths"].items():
        address = re.sub(r"{\w+}", CANARY, path)
        for method in operations.keys() & METHODS:
            for body in ({"label": CANARY, "note": CANARY}, [CANARY], CANARY):
                client.open(f"{address}?label={CANARY}&{CANARY}=1", method=method, json=body, headers=HEADERS)
            client.open(address, method=method, data=b'{"label": "' + CANARY.encode(), content_type="application/json")
            done += 1
    return done


def test_a_request_is_one_line_with_its_id_route_status_and_time(new_app, log):
    client = new_app().test_client()
    client.get("/v1/tactics/nothing", headers={"X-Request-ID": "bench-7"})
    (line,) = lines(log)
    assert line.pop("milliseconds") >= 0
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT[\d:.]+Z", line.pop("timestamp"))
    told = {"method": "GET", "route": "/v1/tactics/<tactic_id>", "status": 404, "request_id": "bench-7"}
    assert line == {"event": "request", "level": "info", **told}


def test_nothing_that_is_sent_anywhere_stands_in_the_log(new_app, log):
    app = new_app(RATE_LOOPBACK="100000/minute", CORS_ORIGINS=("https://court.example",))
    client = app.test_client()
    done = sent_everywhere(client, json.loads(client.get("/openapi.json").data))
    client.get(f"/{CANARY}")
    client.open("/v1/rulebook", method=CANARY.upper())
    assert len(lines(log)) == 4 * done + 3
    assert CANARY.lower() not in log.getvalue().lower()


def test_nothing_that_is_kept_stands_in_the_log(new_app, log):
    client = new_app().test_client()
    made = partial(add, client)
    own = made("/v1/players", {"side": "own", "label": f"{CANARY} one", "facts": {"favourite_pattern": CANARY}})
    opponent = made("/v1/players", {"side": "opponent", "label": f"{CANARY} two"})
    match = made("/v1/matches", {"own_id": own, "opponent_id": opponent})
    made(f"/v1/matches/{match}/observations", SEEN)
    made(f"/v1/matches/{match}/points", {"winner": "own"})
    for below in ("", "/observations", "/points", "/score", "/suggestions?moment=change-of-ends"):
        assert client.get(f"/v1/matches/{match}{below}").status_code == 200
    assert client.get(f"/v1/players?label={CANARY}%20one").status_code == 200
    assert len(lines(log)) == 11
    for kept in (CANARY, own, opponent, match):
        assert kept not in log.getvalue()


def test_no_token_stands_in_the_log_whether_it_opens_or_not(new_app, log):
    app = new_app(LOCAL=False, RATE_PER_ADDRESS="3/minute", RATE_PER_TOKEN="2/minute", METRICS_TOKEN=CANARY)
    services = app.extensions[EXTENSION].services
    token = clubs.create_token(services, clubs.create(services, CANARY).club_id, CANARY, ["read"]).text
    far = {"REMOTE_ADDR": "203.0.113.7"}
    for sent, status in ((token, 200), (f"{token[:-2]}AA", 401), (token, 200), (token, 429)):
        answer = app.test_client().get("/v1/players", headers={"Authorization": f"Bearer {sent}"}, environ_base=far)
        assert answer.status_code == status
    app.test_client().get("/metrics", headers={"Authorization": f"Bearer {CANARY}"})
    for secret in (CANARY, token, token[:20], token[-20:], "203.0.113"):
        assert secret not in log.getvalue()


def test_a_failure_is_told_by_its_kind_and_place_without_its_words(new_app, log):
    app: Flask = new_app()

    @app.post("/fails/<label>")
    def fails(label: str) -> str:
        raise LookupError(f"no player {label}")

    answer = app.test_client().post(f"/fails/{CANARY}", json={"label": CANARY})
    assert (answer.status_code, answer.get_json()["type"]) == (500, "/problems/internal-error")
    (line,) = lines(log, "request failed")
    assert (line["route"], line["failure"]) == ("/fails/<label>", "LookupError")
    assert line["request_id"] == answer.headers["X-Request-ID"]
    assert line["at"][-1].endswith(" fails")
    assert CANARY not in log.getvalue() + answer.text
