"""The rule engine fails in the middle of things: the evaluator answers in its place, alike, and the counts show it."""

import json
import re
from functools import partial
from typing import Any

import pytest
from flask import Flask

from tacticapi.advice import Adviser
from tacticapi.domain.rules import Rulebook
from tacticapi.rulebook import engine as door
from tacticapi.rulebook.engine import Engine
from tacticapi.rulebook.matcher import Matcher
from tacticapi.seeds import demo_situation

from ...databases import add
from .conftest import NewApp

BODY = demo_situation("change-of-ends")


def truncate(patch: pytest.MonkeyPatch) -> None:
    """The engine loses the end of every batch of facts."""
    whole = door.native.assert_facts

    def cut(handle: int, batch: str) -> Any:
        facts = json.loads(batch)
        return whole(handle, json.dumps(facts[:-1] if len(facts) > 1 else facts))

    patch.setattr(door.native, "assert_facts", cut)


def exceed_the_budget(patch: pytest.MonkeyPatch) -> None:
    """The engine would fire more rules than it may."""
    run = Engine.run

    def poor(self: Engine, facts: Any) -> Any:
        patch.setattr(self, "max_firings", 1)
        return run(self, facts)

    patch.setattr(Engine, "run", poor)


def raise_inside(patch: pytest.MonkeyPatch) -> None:
    def broken(handle: int, batch: str) -> Any:
        raise SystemError(batch)

    patch.setattr(door.native, "assert_facts", broken)


def counted(app: Flask) -> dict[str, float]:
    line = r'^tacticapi_(?:engine_failures_total\{kind="(\S+)"\}|evaluator_fallbacks_total) (\S+)$'
    found = re.findall(line, app.test_client().get("/metrics").text, re.MULTILINE)
    return {kind or "fallbacks": float(value) for kind, value in found}


def advice(app: Flask) -> Any:
    answer = app.test_client().post("/v1/suggestions", json=BODY)
    assert answer.status_code == 200
    return {**answer.get_json(), "advice_id": ""}


@pytest.fixture
def app(new_app: NewApp, rulebook: Rulebook) -> Flask:
    """An application whose engine nobody else uses."""
    matcher = Matcher(rulebook)
    matcher._engine = Engine(matcher.rules, "tactics-that-fail")
    return new_app(ADVISER=Adviser(rulebook, matcher))


@pytest.mark.parametrize(
    ("fail", "kind"), [(truncate, "truncated"), (exceed_the_budget, "firing-budget"), (raise_inside, "other")]
)
def test_advice_stays_the_same_and_the_failure_is_counted(app, monkeypatch, fail, kind):
    healthy = advice(app)
    with monkeypatch.context() as patch:
        fail(patch)
        assert advice(app) == healthy
        assert counted(app) == {"fallbacks": 1, **dict.fromkeys(counted(app).keys() - {"fallbacks"}, 0), kind: 1}
        warned = app.test_client().get("/readyz").get_json()["warnings"]
        assert len(warned) == (kind != "firing-budget")  # a dear request says nothing of the engine's health
    assert advice(app) == healthy
    ready = app.test_client().get("/readyz").get_json()
    assert kind == "other" or ready["engine"] == "durable-rules"  # once the engine is well again it answers again


def test_an_engine_that_cannot_be_loaded_is_counted_with_every_advice(new_app, rulebook):
    matcher = Matcher(rulebook)
    matcher._engine = None
    app = new_app(ADVISER=Adviser(rulebook, matcher))
    advice(app)
    advice(app)
    assert (counted(app)["not-loaded"], counted(app)["fallbacks"]) == (2, 2)


def test_what_is_kept_is_advised_on_and_kept_while_the_engine_fails(app, monkeypatch):
    client = app.test_client()
    made = partial(add, client)
    ids = {f"{side}_id": made("/v1/players", {"side": side, "label": side}) for side in ("own", "opponent")}
    known = {name: BODY[name] for name in ("context", "own", "opponent")}  # enough for rules of several conditions
    match = f"/v1/matches/{made('/v1/matches', ids | known)}"
    entries = []
    for fail in (truncate, raise_inside):
        entries.append(made(f"{match}/observations", BODY["observations"][len(entries)]))
        with monkeypatch.context() as patch:
            fail(patch)
            given = client.get(f"{match}/suggestions?moment=change-of-ends")
        assert given.status_code == 200
        assert client.get(f"/v1/advice/{given.get_json()['advice_id']}").status_code == 200
    assert [entry["id"] for entry in client.get(f"{match}/observations").get_json()["items"]] == entries
    assert counted(app)["fallbacks"] == 2
