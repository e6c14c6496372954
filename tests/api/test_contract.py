"""The published contract is the application's, its examples are its answers, and its schemas take what it takes."""

import copy
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from flask import Flask
from flask.testing import FlaskClient
from openapi_spec_validator import OpenAPIV31SpecValidator

from tacticapi.advice import Adviser
from tacticapi.api.contract import document, situation_json_schema, yaml_text
from tacticapi.api.contract.document import EXAMPLE_ID, REGENERATE
from tacticapi.api.situations.observations import ObservationSchema
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Moment
from tacticapi.knowledge import cases
from tacticapi.seeds import demo_situation

FILE = Path(__file__).parents[2] / "openapi" / "openapi.yaml"
MOMENTS = [moment.value for moment in Moment]


@pytest.fixture(scope="module")
def published() -> dict[str, Any]:
    loaded: dict[str, Any] = yaml.load(FILE.read_text(encoding="utf-8"), yaml.CSafeLoader)
    return loaded


@pytest.fixture(scope="module")
def validator(app: Flask) -> jsonschema.Draft202012Validator:
    with app.app_context():
        schema = situation_json_schema(app)
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def test_the_file_is_what_the_application_says(app: Flask, adviser: Adviser) -> None:
    same = yaml_text(document(app, adviser)) == FILE.read_text(encoding="utf-8")
    assert same, f"openapi/openapi.yaml is out of date; run: {REGENERATE}"


def test_the_file_is_openapi(published: dict[str, Any]) -> None:
    assert published["openapi"].startswith("3.1")
    OpenAPIV31SpecValidator(published).validate()


def test_every_operation_is_described(published: dict[str, Any]) -> None:
    operations = [
        operation for path in published["paths"].values() for name, operation in path.items() if name in ("get", "post")
    ]
    assert len({operation["operationId"] for operation in operations}) == len(operations) == 14
    for operation in operations:
        assert operation["summary"]
        assert operation["description"]
        assert operation["tags"]
        assert "default" in operation["responses"]


def test_every_route_is_in_the_file(app: Flask, published: dict[str, Any]) -> None:
    routes = {rule.rule.replace("<", "{").replace(">", "}") for rule in app.url_map.iter_rules()}
    assert routes == set(published["paths"])


@pytest.mark.parametrize("moment", MOMENTS)
def test_a_recorded_example_is_what_the_service_answers(
    client: FlaskClient, published: dict[str, Any], moment: str
) -> None:
    operation = published["paths"]["/v1/suggestions"]["post"]
    request = operation["requestBody"]["content"]["application/json"]["examples"][moment]["value"]
    recorded = operation["responses"]["200"]["content"]["application/json"]["examples"][moment]["value"]
    answer = client.post("/v1/suggestions", json=request).json
    assert answer is not None
    assert {**answer, "advice_id": EXAMPLE_ID} == recorded


def test_optional_fields_state_their_default(published: dict[str, Any]) -> None:
    schemas = published["components"]["schemas"]
    assert schemas["Context"]["properties"]["coaching"]["default"] == "unknown"
    assert schemas["Format"]["properties"]["sets"]["default"] == 3
    assert schemas["Situation"]["required"] == ["moment"]
    for name, field in schemas["Situation"]["properties"].items():
        assert name == "moment" or "Absent" in field["description"]


def test_a_problem_is_described_as_one(published: dict[str, Any]) -> None:
    for status in ("400", "413", "415", "422"):
        reference = published["paths"]["/v1/suggestions"]["post"]["responses"][status]["$ref"]
        described = published["components"]["responses"][reference.rpartition("/")[2]]
        assert list(described["content"]) == ["application/problem+json"]


@pytest.mark.parametrize("moment", MOMENTS)
def test_the_json_schema_takes_every_situation_of_the_demo(
    validator: jsonschema.Draft202012Validator, moment: str
) -> None:
    validator.validate(demo_situation(moment))


def test_the_json_schema_takes_every_request_of_the_rule_cases(validator: jsonschema.Draft202012Validator) -> None:
    for case in cases():
        validator.validate(case.suggested)


@pytest.mark.parametrize(
    "change",
    [
        {"moment": "lunch"},
        {"own": {"volley": 5}},
        {"own": {"shoe_size": 4}},
        {"context": {"format": {"sets": 4}}},
        {"context": {"wind": {"strength": "gale"}}},
        {"observations": [{"what": "no.such", "count": 1, "of": 2}]},
        {"observations": [{"rating": 1}]},
        {"limit": 11},
        {"colour": "red"},
    ],
)
def test_the_json_schema_refuses_what_the_service_refuses(
    client: FlaskClient, validator: jsonschema.Draft202012Validator, change: dict[str, Any]
) -> None:
    body = {**copy.deepcopy(demo_situation("set-break")), **change}
    assert not validator.is_valid(body)
    assert client.post("/v1/suggestions", json=body).status_code == 422


def test_the_json_schema_stands_alone(client: FlaskClient) -> None:
    text = client.get("/v1/schemas/situation").text
    assert "#/components" not in text
    assert "2020-12" in text


def test_the_shape_of_an_observation_takes_what_the_vocabulary_takes(rulebook: Rulebook) -> None:
    shape = ObservationSchema()
    for moment in MOMENTS:
        for posted in demo_situation(moment).get("observations", []):
            assert shape.validate(posted) == {}
