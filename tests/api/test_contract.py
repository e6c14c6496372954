"""The published contract is the application's, its examples are its answers, and its schemas take what it takes."""

import copy
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from flask import Flask
from flask.testing import FlaskClient
from jsonschema_rs import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator

from tacticapi.advice import Adviser
from tacticapi.api.contract import METHODS
from tacticapi.api.document import EXAMPLE_ID, REGENERATE, document, yaml_text
from tacticapi.api.situations import ObservationSchema
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Moment
from tacticapi.seeds import demo_situation

from ..cases import cases

FILE = Path(__file__).parents[2] / "openapi" / "openapi.yaml"
MOMENTS = [moment.value for moment in Moment]


@pytest.fixture(scope="module")
def published() -> dict[str, Any]:
    loaded: dict[str, Any] = yaml.load(FILE.read_text(encoding="utf-8"), yaml.CSafeLoader)
    return loaded


@pytest.fixture(scope="module")
def validator(published: dict[str, Any]) -> Draft202012Validator:
    schema = {"$ref": "#/components/schemas/Situation", "components": published["components"]}
    return Draft202012Validator(schema)


def test_the_file_is_what_the_application_says(app: Flask, adviser: Adviser) -> None:
    same = yaml_text(document(app, adviser)) == FILE.read_text(encoding="utf-8")
    assert same, f"openapi/openapi.yaml is out of date; run: {REGENERATE}"


def test_the_file_is_openapi(published: dict[str, Any]) -> None:
    assert published["openapi"].startswith("3.1")
    OpenAPIV31SpecValidator(published).validate()


def test_every_operation_is_described(published: dict[str, Any]) -> None:
    operations = [
        operation for path in published["paths"].values() for name, operation in path.items() if name in METHODS
    ]
    assert len({operation["operationId"] for operation in operations}) == len(operations) >= 38
    for operation in operations:
        assert operation["summary"]
        assert operation["description"]
        assert operation["tags"]
        assert "default" in operation["responses"]


def test_every_route_is_in_the_file(app: Flask, published: dict[str, Any]) -> None:
    pages = "pages."  # for people, not for programs
    rules = (rule for rule in app.url_map.iter_rules() if not rule.endpoint.startswith(pages))
    routes = {re.sub(r"<(?:id:)?(\w+)>", r"{\1}", rule.rule) for rule in rules}
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
    for shape in (schemas[name] for name in schemas if name in posted(published)):
        optional = shape["properties"].keys() - set(shape.get("required", ()))
        by_default = "Absent or null" in shape.get("description", "")
        for name in optional:
            field = shape["properties"][name]
            assert by_default or "default" in field or "Absent" in field["description"], name


def posted(published: dict[str, Any]) -> set[str]:
    """The names of the schemas that the bodies of requests consist of."""
    schemas = published["components"]["schemas"]
    bodies = [
        path["post"]["requestBody"] for path in published["paths"].values() if "requestBody" in path.get("post", {})
    ]
    waiting, found = list(references(bodies)), set()
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting += references(schemas[name])
    return found


def references(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        if "$ref" in node:
            yield node["$ref"].rpartition("/")[2]
        node = list(node.values())
    for below in node if isinstance(node, list) else ():
        yield from references(below)


def test_a_problem_is_described_as_one(published: dict[str, Any]) -> None:
    for status in ("400", "413", "415", "422"):
        reference = published["paths"]["/v1/suggestions"]["post"]["responses"][status]["$ref"]
        described = published["components"]["responses"][reference.rpartition("/")[2]]
        assert list(described["content"]) == ["application/problem+json"]


@pytest.mark.parametrize("moment", MOMENTS)
def test_the_contract_takes_every_situation_of_the_demo(validator: Draft202012Validator, moment: str) -> None:
    validator.validate(demo_situation(moment))


def test_the_contract_takes_every_request_of_the_rule_cases(validator: Draft202012Validator) -> None:
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
def test_the_contract_refuses_what_the_service_refuses(
    client: FlaskClient, validator: Draft202012Validator, change: dict[str, Any]
) -> None:
    body = {**copy.deepcopy(demo_situation("set-break")), **change}
    assert not validator.is_valid(body)
    assert client.post("/v1/suggestions", json=body).status_code == 422


def test_the_shape_of_an_observation_takes_what_the_vocabulary_takes(rulebook: Rulebook) -> None:
    shape = ObservationSchema()
    for moment in MOMENTS:
        for posted in demo_situation(moment).get("observations", []):
            assert shape.validate(posted) == {}


def test_what_is_kept_names_the_scope_that_it_takes(published: dict[str, Any]) -> None:
    assert published["components"]["securitySchemes"]["bearer"]["scheme"] == "bearer"
    stateless = {"/livez", "/readyz"}
    for address, path in published["paths"].items():
        for name in path.keys() & METHODS:
            operation = path[name]
            if "401" in operation["responses"]:
                scopes = [scope for one in operation["security"] for scope in one.get("bearer", ())]
                assert scopes in (["observe"], ["advise"], ["read"], ["manage"]), (address, name)
                assert "403" in operation["responses"]
            else:
                assert name == "get"
                stateless.add(address)
    assert all(not address.startswith(("/v1/players", "/v1/matches", "/v1/advice")) for address in stateless)


def test_what_two_people_edit_says_so(published: dict[str, Any]) -> None:
    for address in ("/v1/players/{player_id}", "/v1/matches/{match_id}"):
        change = published["paths"][address]["patch"]
        assert {"412", "428"} <= change["responses"].keys()
        assert {"$ref": "#/components/parameters/IF_MATCH"} in change["parameters"]
        assert "ETag" in published["paths"][address]["get"]["responses"]["200"]["headers"]
