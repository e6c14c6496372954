"""The published JSON Schemas: each stands alone, takes what the service takes, and describes what it answers."""

from collections.abc import Callable
from typing import Any

import jsonschema
import pytest
from flask.testing import FlaskClient

from tacticapi.api.calculations.examples import EXAMPLES
from tacticapi.domain.terms import Moment
from tacticapi.seeds import demo_situation

MOMENTS = [moment.value for moment in Moment]
Validate = Callable[[str, Any], None]


@pytest.fixture
def valid(client: FlaskClient) -> Validate:
    """Hold a value against the schema of this name, formats of ids and times included."""

    def validate(name: str, value: Any) -> None:
        schema = client.get(f"/v1/schemas/{name}").json
        jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).validate(value)

    return validate


def test_every_schema_of_the_list_is_one_and_is_found_by_its_id(client: FlaskClient) -> None:
    listed = client.get("/v1/schemas")
    assert listed.json
    items = listed.json["items"]
    assert {item["sort"] for item in items} == {"posted", "answered"}
    for item in items:
        answer = client.get(item["address"])
        assert answer.content_type == "application/schema+json"
        schema = answer.json
        assert schema
        jsonschema.Draft202012Validator.check_schema(schema)
        assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
        assert schema["$id"] == item["address"]
        assert schema["title"] == item["component"]
        assert "#/components" not in answer.text


def test_another_name_is_refused_with_the_names_there_are(client: FlaskClient) -> None:
    refused = client.get("/v1/schemas/weather")
    assert refused.status_code == 404
    assert refused.json
    assert "situation" in refused.json["detail"]


@pytest.mark.parametrize("moment", MOMENTS)
def test_the_demo_is_valid_as_it_is_posted_and_as_it_is_answered(
    client: FlaskClient, valid: Validate, moment: str
) -> None:
    body = demo_situation(moment)
    valid("situation", body)
    for seen in body.get("observations", ()):
        valid("observation", seen)
    for tried in body.get("tries", ()):
        valid("tries", tried)
    valid("advice", client.post("/v1/suggestions", json=body).json)
    valid("explanation", client.post("/v1/explanations", json=body).json)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: f"{example.calculation}-{example.name}")
def test_a_calculation_is_valid_as_it_is_asked_and_as_it_is_answered(
    client: FlaskClient, valid: Validate, example: Any
) -> None:
    valid(f"{example.calculation}-question", example.body)
    valid(example.calculation, client.post(example.path, json=example.body).json)


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("observation", {"what": "warmup.high_backhand", "rating": 9}),
        ("observation", {"what": "warmup.high_backhand", "count": 1}),
        ("observation", {"what": "no.such_thing", "seen": True}),
        ("point", {"winner": "nobody"}),
        ("tries", {"tactic": "serve-wide", "tried": -1, "won": 0}),
        ("feedback", {"tactic": "serve-wide", "kind": "liked"}),
        ("new-player", {"side": "own"}),
        ("new-match", {"own_id": "a"}),
        ("advice", {"moment": "set-break"}),
        ("problem", {"status": "422"}),
    ],
)
def test_what_is_not_of_the_shape_is_not_valid(valid: Validate, name: str, wrong: Any) -> None:
    with pytest.raises(jsonschema.ValidationError):
        valid(name, wrong)


def test_a_refusal_is_a_valid_problem(client: FlaskClient, valid: Validate) -> None:
    for refused in (client.post("/v1/suggestions", json={"moment": "lunch"}), client.get("/v1/tactics/none")):
        assert refused.status_code >= 400
        valid("problem", refused.json)
