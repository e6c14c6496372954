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

from openapi.document import REGENERATE, document, yaml_text
from tacticapi.advice import Adviser
from tacticapi.api.contract import METHODS
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
    body = published["paths"]["/v1/suggestions"]["post"]["requestBody"]["content"]["application/json"]["schema"]
    schema = {**body, "components": published["components"]}
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


def test_every_request_and_answer_has_an_example(published: dict[str, Any]) -> None:
    for address, path in published["paths"].items():
        for method in path.keys() & METHODS:
            operation = path[method]
            told = [
                operation.get("requestBody", {}),
                *operation["responses"].values(),
                *published["components"]["responses"].values(),
            ]
            for content in (media for one in told for media in one.get("content", {}).values()):
                assert {"example", "examples"} & content.keys(), (address, method)


def test_examples_are_of_the_shapes_beside_them(published: dict[str, Any]) -> None:
    checked = 0
    for path in published["paths"].values():
        for operation in (path[method] for method in path.keys() & METHODS):
            for one in (operation.get("requestBody", {}), *operation["responses"].values()):
                for media in one.get("content", {}).values():
                    if "example" in media:
                        schema = {**media["schema"], "components": published["components"]}
                        Draft202012Validator(schema, validate_formats=True).validate(media["example"])
                        checked += 1
    assert checked >= 80


def test_each_list_of_words_has_one_name(published: dict[str, Any]) -> None:
    def lists(node: Any) -> Iterator[list[Any]]:
        if isinstance(node, dict):
            if isinstance(node.get("enum"), list) and len(node["enum"]) > 1:
                yield node["enum"]
            node = list(node.values())
        for below in node if isinstance(node, list) else ():
            yield from lists(below)

    schemas = published["components"]["schemas"]
    named = [schema["enum"] for schema in schemas.values() if "enum" in schema]
    assert len(named) > 60
    assert [*lists(published["paths"]), *(one for schema in schemas.values() for one in lists(schema))] == named


def test_answers_are_open(published: dict[str, Any]) -> None:
    schemas = published["components"]["schemas"]
    answers = [path[method]["responses"] for path in published["paths"].values() for method in path.keys() & METHODS]
    waiting, reached = [*references(answers), "Problem"], set()
    while waiting:
        if (name := waiting.pop()) not in reached and name in schemas:
            reached.add(name)
            waiting += references(schemas[name])
    assert len(reached) > 100
    assert not [name for name in reached if "additionalProperties: false" in yaml.dump(schemas[name])]


def test_it_is_small(published: dict[str, Any]) -> None:
    assert FILE.stat().st_size <= 280_000
    assert (
        sum(len(path.keys() & METHODS) for address, path in published["paths"].items() if address[:4] == "/v1/") <= 60
    )


def test_parameters_stand_in_the_order_of_the_address(published: dict[str, Any]) -> None:
    for address, path in published["paths"].items():
        names = [one.get("name") or one["$ref"].rpartition("/")[2] for one in path.get("parameters", ())]
        assert names == re.findall(r"{(\w+)}", address)


def test_no_member_is_called_as_its_schema(published: dict[str, Any]) -> None:
    for name, schema in published["components"]["schemas"].items():
        assert name.lower() not in {member.replace("_", "") for member in schema.get("properties", ())}


def test_optional_fields_state_their_default(published: dict[str, Any]) -> None:
    schemas = published["components"]["schemas"]
    assert schemas["Context"]["properties"]["coaching"]["default"] == "unknown"
    assert schemas["Format"]["properties"]["sets"]["default"] == 3
    assert schemas["Situation"]["required"] == ["moment"]
    described = [schemas[name] for name in posted(published) if "enum" not in schemas[name]]
    for shape in (one.get("allOf", [one])[-1] for one in described):
        optional = shape["properties"].keys() - set(shape.get("required", ()))
        by_default = "Absent or null" in shape.get("description", "")
        for name in optional:
            field = shape["properties"][name]
            assert by_default or "default" in field or "Absent" in field.get("description", ""), (name, shape)


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
        if "/schemas/" in node.get("$ref", ""):
            yield node["$ref"].rpartition("/")[2]
        node = list(node.values())
    for below in node if isinstance(node, list) else ():
        yield from references(below)


def test_the_contract_takes_every_request_of_the_rule_cases(validator: Draft202012Validator) -> None:
    for case in cases():
        validator.validate(case.suggested)


@pytest.mark.parametrize(
    "change",
    [
        {"moment": "lunch"},
        {"own": {"volley": 5}},
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
