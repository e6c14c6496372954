"""Every operation that takes a body, whichever the contract names: what is no plain JSON is refused in the same way."""

import json
import re
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from tacticapi.api.contract import METHODS

from .bodies import NO_PLAIN_JSON, refused

ID = "00000000-0000-4000-8000-000000000000"
NDJSON = "application/x-ndjson"
KINDS = ({"application/json"}, {"application/json", NDJSON}, {NDJSON})
BULK, IMPORT = ("/observations", "/points", "/tries"), "/v1/club/import"
MEBIBYTE = 1024 * 1024
NO_OBJECT: list[Any] = [[], None, True, 3, "text", [{}]]
HOSTILE: list[Any] = [
    None, True, -1, 2**53, 1e308, "", "x" * 100_000, "' OR 1=1 --", "<script>", "../../etc/passwd", "\u202e", [], {},
    [[]], [{}] * 5000, {"a": {"b": []}}, {"__class__": "x"}, ["x"] * 5000,
]  # fmt: skip
Operation = tuple[str, str, Any]


@pytest.fixture(scope="module")
def contract(kept: Flask) -> Any:
    return json.loads(kept.test_client().get("/openapi.json").data)


@pytest.fixture(scope="module")
def operations(contract: Any) -> list[Operation]:
    """Method, address and body of every operation that takes one."""
    return [
        (method.upper(), re.sub(r"{\w+}", ID, address), path[method]["requestBody"])
        for address, path in contract["paths"].items()
        for method in sorted(path.keys() & METHODS)
        if "requestBody" in path[method]
    ]


@pytest.fixture(scope="module")
def of_json(operations: list[Operation]) -> list[Operation]:
    return [one for one in operations if "application/json" in one[2]["content"]]


def sent(
    app: Flask, operation: Operation, data: bytes, content_type: str = "application/json", **headers: str
) -> TestResponse:
    method, address, _ = operation
    return app.test_client().open(
        address, method=method, data=data, content_type=content_type, headers={"If-Match": "*", **headers}
    )


def test_every_operation_with_a_body_is_one_that_these_tests_know(operations):
    kinds = [set(body["content"]) for _, _, body in operations]
    assert all(kind in KINDS for kind in kinds), kinds
    assert len(operations) >= 15


@pytest.mark.parametrize(("body", "place"), NO_PLAIN_JSON)
def test_what_is_no_plain_json_is_refused_everywhere(kept, of_json, body, place):
    for operation in of_json:
        assert place in refused(sent(kept, operation, body), 400)


def test_what_is_no_object_is_refused_everywhere(kept, of_json):
    for operation in of_json:
        for body in NO_OBJECT:
            bulk = isinstance(body, list) and operation[1].endswith(BULK)
            refused(sent(kept, operation, json.dumps(body).encode()), *((404, 422) if bulk else (422,)))


def test_a_name_that_nobody_knows_is_refused_everywhere(kept, of_json):
    for operation in of_json:
        for name in ("no such name", "__proto__", "club_id", ""):
            answer = sent(kept, operation, json.dumps({name: 1}).encode())
            if operation[1].endswith("/observations"):  # which looks for the match first
                refused(answer, 404)
            else:
                refused(answer, 422)
                assert any(fault["pointer"].startswith(f"/{name}") for fault in answer.get_json()["errors"])


def test_another_media_type_coding_or_size_is_refused_everywhere(kept, operations):
    for operation in operations:
        own = next(iter(operation[2]["content"]))
        refused(sent(kept, operation, b"{}", "text/plain"), 415)
        refused(sent(kept, operation, b"{}", "application/x-www-form-urlencoded"), 415)
        refused(sent(kept, operation, b"{}", own, **{"Content-Encoding": "gzip"}), 415)
        most = (8 if operation[1] == IMPORT else 1) * MEBIBYTE
        refused(sent(kept, operation, b" " * (most + 1), own), 413)


def test_whatever_stands_in_a_field_is_answered(kept, contract, of_json):
    for operation in of_json:
        for field in fields_of(contract, operation[2]["content"]["application/json"]["schema"]):
            for value in HOSTILE:
                answer = sent(kept, operation, json.dumps({field: value}).encode())
                assert answer.status_code < 500, (operation[:2], field, str(value)[:40], answer.text[:300])


def fields_of(contract: Any, schema: Any) -> list[str]:
    """The names that the object may hold, whichever of its forms it takes."""
    while "$ref" in schema:
        schema = contract["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
    forms = [form for name in ("anyOf", "oneOf") for form in schema.get(name, ())]
    return list(schema.get("properties", ())) + [name for form in forms for name in fields_of(contract, form)]
