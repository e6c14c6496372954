"""What the service counts about itself, and who may read it."""

import re

import pytest
from flask import Flask
from werkzeug.test import create_environ, run_wsgi_app

from tacticapi.api import create_app
from tacticapi.api.http.metrics import free_slot
from tacticapi.seeds import demo_situation

FAR = {"REMOTE_ADDR": "203.0.113.7"}


def counted(app: Flask) -> dict[str, float]:
    text = app.test_client().get("/metrics").text
    return {name: float(value) for name, value in re.findall(r"^(tacticapi\S+) (\S+)$", text, re.MULTILINE)}


def test_requests_are_counted_by_route_and_never_by_address(new_app):
    app = new_app()
    client = app.test_client()
    client.get("/v1/tactics/no-such-thing")
    client.get("/v1/players?label=canary")
    client.get("/canary")
    found = counted(app)
    route = 'route="/v1/tactics/<tactic_id>",status="404"'
    assert found[f'tacticapi_requests_total{{method="GET",{route}}}'] == 1
    assert found['tacticapi_requests_total{method="GET",route="none",status="404"}'] == 1
    assert found['tacticapi_request_seconds_count{route="/v1/players"}'] == 1
    assert "canary" not in str(found)


def test_advice_is_counted_by_moment_with_the_tactics_that_it_suggests(adviser):
    app = create_app({"ADVISER": adviser})
    for _ in range(2):
        told = app.test_client().post("/v1/suggestions", json=demo_situation("change-of-ends"))
    app.test_client().post("/v1/explanations", json=demo_situation("after-warm-up"))
    found = counted(app)
    assert found['tacticapi_advice_total{moment="change-of-ends"}'] == 2
    assert found['tacticapi_advice_total{moment="after-warm-up"}'] == 1
    assert found['tacticapi_advice_total{moment="set-break"}'] == 0
    for suggestion in told.json["suggestions"]:
        assert found[f'tacticapi_suggestions_total{{tactic="{suggestion["tactic"]}"}}'] >= 2
    assert found["tacticapi_evaluator_fallbacks_total"] == 0


@pytest.mark.parametrize(("taken", "free"), [([], 0), ([0, 1], 2), ([1, 2], 0), ([2, 0], 1)])
def test_a_new_worker_goes_on_counting_where_the_one_before_it_ended(taken, free):
    assert free_slot(taken) == free


def test_this_machine_reads_the_counts_and_nobody_else(new_app):
    client = new_app().test_client()
    assert client.get("/metrics").content_type.startswith("text/plain")
    refused = client.get("/metrics", environ_base=FAR)
    assert (refused.status_code, refused.headers["WWW-Authenticate"]) == (401, 'Bearer realm="tacticapi"')
    assert client.get("/metrics", headers={"X-Forwarded-For": "203.0.113.7"}).status_code == 401


@pytest.mark.parametrize(
    ("named", "status"),
    [("localhost:8000", 200), ("[::1]", 200), ("tacticapi.example", 401), ("[1:1]", 401), ("[::1", 401)],
)
def test_this_machine_reads_them_by_its_own_name_alone(new_app, named, status):
    environ = {**create_environ("/metrics"), "HTTP_HOST": named, "REMOTE_ADDR": "127.0.0.1"}
    _, answered, _ = run_wsgi_app(new_app(), environ)  # the test client sends no name that is none
    assert answered.startswith(f"{status} ")


def test_elsewhere_the_token_of_the_settings_opens_them(new_app):
    client, sent = new_app(METRICS_TOKEN="watch").test_client(), ("Bearer watch", "bearer watch", "Bearer other", "")
    told = [client.get("/metrics", environ_base=FAR, headers={"Authorization": one}).status_code for one in sent]
    assert told == [200, 200, 401, 401]
    assert client.get("/metrics", environ_base=FAR, headers={"Authorization": "Basic watch"}).status_code == 401
