"""The published contract is the application's, its examples are its answers, and its schemas take what it takes."""

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema_rs import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator

from openapi.document import REGENERATE, document, yaml_text
from tacticapi.api.contract import METHODS
from tacticapi.domain.situation import Moment
from tacticapi.seeds import demo_situation

from ..cases import cases

FILE = Path(__file__).parents[2] / "openapi" / "openapi.yaml"
MOMENTS = [moment.value for moment in Moment]


@pytest.fixture(scope="module")
def published() -> dict[str, Any]:
    return yaml.load(FILE.read_text(encoding="utf-8"), yaml.CSafeLoader)


@pytest.fixture(scope="module")
def validator(published: dict[str, Any]) -> Draft202012Validator:
    body = published["paths"]["/v1/suggestions"]["post"]["requestBody"]["content"]["application/json"]["schema"]
    return Draft202012Validator({**body, "components": published["components"]})


def operations(published: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    """Method, address and description of every operation."""
    return [(m, address, path[m]) for address, path in published["paths"].items() for m in path.keys() & METHODS]


def test_the_file_is_what_the_application_says(app, adviser):
    same = yaml_text(document(app, adviser)) == FILE.read_text(encoding="utf-8")
    assert same, f"openapi/openapi.yaml is out of date; run: {REGENERATE}"


def test_the_file_is_openapi(published):
    assert published["openapi"].startswith("3.1")
    OpenAPIV31SpecValidator(published).validate()


def test_every_operation_is_described(published):
    every = [operation for _, _, operation in operations(published)]
    assert len({operation["operationId"] for operation in every}) == len(every) >= 38
    for operation in every:
        assert operation["summary"]
        assert operation["description"]
        assert operation["tags"]
        assert "default" in operation["responses"]
    responses = published["components"]["responses"]
    assert {"WWW-Authenticate", "Retry-After"} <= responses["DEFAULT_ERROR"]["headers"].keys()
    assert "ETag" in responses["NOT_MODIFIED"]["headers"]


def test_every_route_is_in_the_file(app, published):
    pages = "pages."  # for people, not for programs
    rules = (rule for rule in app.url_map.iter_rules() if not rule.endpoint.startswith(pages))
    routes = {re.sub(r"<(?:id:)?(\w+)>", r"{\1}", rule.rule) for rule in rules}
    assert routes == set(published["paths"])


def test_every_request_and_answer_has_an_example_of_the_shape_beside_it(published):
    every = [*(one for _, _, one in operations(published)), published["components"]]
    told = [body for one in every for body in (one.get("requestBody", {}), *one["responses"].values())]
    found = [media for body in told for media in body.get("content", {}).values()]
    for media in found:
        assert {"example", "examples"} & media.keys()
        if "example" in media:
            schema = {**media["schema"], "components": published["components"]}
            Draft202012Validator(schema, validate_formats=True).validate(media["example"])
    assert len(found) >= 80


def test_each_list_of_words_has_one_name(published):
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


def test_answers_are_open(published):
    schemas = published["components"]["schemas"]
    found = reached(published, [operation["responses"] for _, _, operation in operations(published)]) | {"Problem"}
    assert len(found) > 100
    assert not [name for name in found if "additionalProperties: false" in yaml.dump(schemas[name])]


def test_it_is_small(published):
    assert FILE.stat().st_size <= 280_000
    assert len([address for _, address, _ in operations(published) if address.startswith("/v1/")]) <= 60


def test_parameters_stand_in_the_order_of_the_address(published):
    for address, path in published["paths"].items():
        names = [one.get("name") or one["$ref"].rpartition("/")[2] for one in path.get("parameters", ())]
        assert names == re.findall(r"{(\w+)}", address)


def test_no_member_is_called_as_its_schema(published):
    for name, schema in published["components"]["schemas"].items():
        assert name.lower() not in {member.replace("_", "") for member in schema.get("properties", ())}


def test_optional_fields_state_their_default(published):
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
            told = re.search("Absent|Default:|Omit", field.get("description", ""))
            assert by_default or "default" in field or told, (name, shape)


def posted(published: dict[str, Any]) -> set[str]:
    """The names of the schemas that the bodies of requests consist of."""
    bodies = [one.get("requestBody", {}) for method, _, one in operations(published) if method == "post"]
    return reached(published, bodies)


def reached(published: dict[str, Any], node: Any) -> set[str]:
    """The names of all schemas that a part of the contract refers to, however far away."""
    waiting, found = list(references(node)), set[str]()
    while waiting:
        if (name := waiting.pop()) not in found:
            found.add(name)
            waiting += references(published["components"]["schemas"][name])
    return found


def references(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        if "/schemas/" in node.get("$ref", ""):
            yield node["$ref"].rpartition("/")[2]
        node = list(node.values())
    for below in node if isinstance(node, list) else ():
        yield from references(below)


def test_the_contract_takes_every_request_of_the_rule_cases(validator):
    for case in cases():
        validator.validate(case.suggested)


def test_what_is_polled_or_edited_says_so(published):
    every = [one for one in operations(published) if all(one[2].get("security") or [{}])]
    assert len(every) > 25
    told = Counter[str]()
    for method, address, operation in every:
        names = {one.get("name") or one["$ref"].rpartition("/")[2] for one in operation.get("parameters", ())}
        statuses, headers = operation["responses"].keys(), operation["responses"].get("200", {}).get("headers", {})
        assert ("IF_NONE_MATCH" in names) == ("304" in statuses), (method, address)
        assert ("IF_MATCH" in names) == ({"412", "428"} <= statuses), (method, address)
        assert "ETag" in headers or not {"304", "428"} & statuses, (method, address)
        assert ("cursor" in names) == ("Link" in headers), (method, address)
        told.update({*statuses, *headers})
    assert (told["304"] >= 8, told["412"] >= 4, told["Link"] >= 7) == (True, True, True)


@pytest.mark.parametrize("moment", MOMENTS)
def test_the_demo_is_valid_as_it_is_posted_and_as_it_is_answered(client, valid, moment):
    body = demo_situation(moment)
    valid("Situation", body)
    for seen in body.get("observations", ()):
        valid("NewObservation", seen)
    for tried in body.get("tries", ()):
        valid("NewTries", {name: tried[name] for name in ("tactic", "tried", "won")})  # a kept match dates them
    valid("Advice", client.post("/v1/suggestions", json=body).json)
    valid("Explanation", client.post("/v1/explanations", json=body).json)


def test_a_refusal_is_a_valid_problem(client, valid):
    for refused in (client.post("/v1/suggestions", json={"moment": "lunch"}), client.get("/v1/tactics/none")):
        assert refused.status_code >= 400
        valid("Problem", refused.json)
