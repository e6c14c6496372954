"""A web page of another site may call only where the settings list its origin."""

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from tacticapi.settings import CORS_ORIGINS, SettingError

PAGE = "https://court.example"


def preflight(app: Flask, origin: str, path: str = "/v1/suggestions") -> TestResponse:
    asked = {"Access-Control-Request-Method": "POST", "Access-Control-Request-Headers": "content-type, authorization"}
    return app.test_client().options(path, headers={"Origin": origin, **asked})


def test_no_page_may_call_unless_it_is_listed(new_app):
    app = new_app()
    answers = preflight(app, PAGE), app.test_client().get("/v1/rulebook", headers={"Origin": PAGE})
    assert not [name for one in answers for name, _ in one.headers if name.startswith("Access-Control")]


def test_a_listed_page_may_call_and_read_what_it_needs(new_app):
    app = new_app(CORS_ORIGINS=(PAGE,))
    allowed = preflight(app, PAGE)
    assert allowed.status_code == 200
    assert allowed.headers["Access-Control-Allow-Origin"] == PAGE
    assert {"authorization", "content-type"} <= set(allowed.headers["Access-Control-Allow-Headers"].lower().split(", "))
    assert "POST" in allowed.headers["Access-Control-Allow-Methods"]
    assert "Access-Control-Allow-Credentials" not in allowed.headers
    for path, status in (("/v1/rulebook", 200), ("/v1/suggestions", 405), ("/nothing", 404)):
        told = app.test_client().get(path, headers={"Origin": PAGE})
        assert told.status_code == status
        assert told.headers["Access-Control-Allow-Origin"] == PAGE
        assert {"ETag", "Retry-After", "RateLimit"} <= set(told.headers["Access-Control-Expose-Headers"].split(", "))
        assert "Origin" in told.headers["Vary"]


@pytest.mark.parametrize("origin", [f"{PAGE}.evil.example", "http://court.example", f"{PAGE}:8443", "null", "*", ""])
def test_any_other_page_may_not(new_app, origin):
    app = new_app(CORS_ORIGINS=(PAGE,))
    for answer in (preflight(app, origin), app.test_client().get("/v1/rulebook", headers={"Origin": origin})):
        assert "Access-Control-Allow-Origin" not in answer.headers


@pytest.mark.parametrize(
    "text", ["*", "https://*.court.example", "court.example", f"{PAGE}/", f"{PAGE},https://b.example"]
)
def test_only_whole_origins_are_listed(text):
    with pytest.raises(SettingError, match="TACTICAPI_CORS_ORIGINS"):
        CORS_ORIGINS.read({"TACTICAPI_CORS_ORIGINS": text})
    two = {"TACTICAPI_CORS_ORIGINS": f"{PAGE} http://localhost:3000"}
    assert CORS_ORIGINS.read(two) == (PAGE, "http://localhost:3000")
