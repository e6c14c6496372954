"""The shapes of the contract take what the service takes, and describe what it answers."""

from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema_rs import ValidationError

from tacticapi.domain.situation import Moment
from tacticapi.seeds import demo_situation

from .conftest import Validate

MOMENTS = [moment.value for moment in Moment]


@pytest.mark.parametrize("moment", MOMENTS)
def test_the_demo_is_valid_as_it_is_posted_and_as_it_is_answered(
    client: FlaskClient, valid: Validate, moment: str
) -> None:
    body = demo_situation(moment)
    valid("Situation", body)
    for seen in body.get("observations", ()):
        valid("NewObservation", seen)
    for tried in body.get("tries", ()):
        valid("NewTries", {name: tried[name] for name in ("tactic", "tried", "won")})  # a kept match dates them
    valid("Advice", client.post("/v1/suggestions", json=body).json)
    valid("Explanation", client.post("/v1/explanations", json=body).json)


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("NewObservation", {"what": "warmup.high_backhand", "rating": 9}),
        ("NewObservation", {"rating": 1}),
        ("NewObservation", {"what": "no.such_thing", "seen": True}),
        ("NewPoint", {"winner": "nobody"}),
        ("NewTries", {"tactic": "serve-wide", "tried": -1, "won": 0}),
        ("NewFeedback", {"tactic": "serve-wide", "kind": "liked"}),
        ("NewPlayer", {"side": "own"}),
        ("NewMatch", {"own_id": "a"}),
        ("Advice", {"moment": "set-break"}),
        ("Problem", {"status": "422"}),
    ],
)
def test_what_is_not_of_the_shape_is_not_valid(valid: Validate, name: str, wrong: Any) -> None:
    with pytest.raises(ValidationError):
        valid(name, wrong)


def test_a_refusal_is_a_valid_problem(client: FlaskClient, valid: Validate) -> None:
    for refused in (client.post("/v1/suggestions", json={"moment": "lunch"}), client.get("/v1/tactics/none")):
        assert refused.status_code >= 400
        valid("Problem", refused.json)
