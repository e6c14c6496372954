"""The rulebook over HTTP: lists, pages, filters, revalidation."""

from typing import Any

import pytest
from flask.testing import FlaskClient
from marshmallow import Schema

from tacticapi.api.http.paging import page_schema
from tacticapi.api.rulebook import KindSchema, RulebookSchema, SourceSchema, TacticSchema, TraitSchema

from .kept.conftest import Caller

LISTS: list[tuple[str, Schema, str, str]] = [
    ("/v1/vocabulary", page_schema(KindSchema), "kinds", "id"),
    ("/v1/traits", page_schema(TraitSchema), "traits", "id"),
    ("/v1/tactics", page_schema(TacticSchema), "tactics", "id"),
    ("/v1/sources", page_schema(SourceSchema), "sources", "key"),
]
OF_THE_RULEBOOK = [*(address for address, *_ in LISTS), "/v1/rulebook"]


def pages(client: FlaskClient, address: str) -> list[list[dict[str, Any]]]:
    return [page.json["items"] for page in Caller(client.application, None).pages(address)]


@pytest.mark.parametrize("listing", LISTS, ids=lambda listing: listing[0])
def test_pages_together_are_the_list_in_its_order(client, rulebook, listing):
    address, schema, name, key = listing
    found = pages(client, f"{address}?page_size=17")
    assert all(len(page) == 17 for page in found[:-1])
    assert [item[key] for page in found for item in page] == list(getattr(rulebook, name))
    assert all(schema.validate({"items": page}) == {} for page in found)


def test_filters_narrow_and_stay_in_the_link(client):
    found = [item for page in pages(client, "/v1/vocabulary?subject=serve&phase=games&page_size=5") for item in page]
    assert len(found) > 5
    assert {item["subject"] for item in found} == {"serve"}
    risky = [item for page in pages(client, "/v1/tactics?risk=high") for item in page]
    assert {item["risk"] for item in risky} == {"high"}
    common = [item for page in pages(client, "/v1/tactics?category=serve&status=common+practice") for item in page]
    assert common
    assert all(item["category"] == "serve" for item in common)
    assert all(any(source["status"] == "common practice" for source in item["sources"]) for item in common)


@pytest.mark.parametrize(
    ("address", "parameter"),
    [
        ("/v1/vocabulary?page_size=0", "page_size"),
        ("/v1/vocabulary?page_size=101", "page_size"),
        ("/v1/vocabulary?page_size=many", "page_size"),
        ("/v1/vocabulary?cursor=nowhere", "cursor"),
        ("/v1/vocabulary?subject=weather", "subject"),
        ("/v1/vocabulary?phase=night", "phase"),
        ("/v1/tactics?category=golf", "category"),
        ("/v1/tactics?status=rumour", "status"),
        ("/v1/tactics?risk=none", "risk"),
        ("/v1/traits?colour=red", "colour"),
    ],
)
def test_a_query_is_refused_where_it_is_wrong(client, address, parameter):
    response = client.get(address)
    assert response.status_code == 422
    assert response.content_type == "application/problem+json"
    assert response.json["type"] == "/problems/invalid-query"
    assert [error["parameter"] for error in response.json["errors"]] == [parameter]


def test_one_tactic_is_served_by_its_id(client, rulebook):
    for name in rulebook.tactics:
        response = client.get(f"/v1/tactics/{name}")
        assert response.json["id"] == name
        assert TacticSchema().validate(response.json) == {}
    assert client.get("/v1/tactics/no-such-tactic").status_code == 404


def test_the_rulebook_names_itself(client, rulebook):
    body = client.get("/v1/rulebook").json
    assert RulebookSchema().validate(body) == {}
    assert (body["version"], body["digest"]) == (rulebook.version, rulebook.digest)
    assert body["counts"]["tactics"] == len(rulebook.tactics) == sum(c["tactics"] for c in body["categories"])


@pytest.mark.parametrize("address", OF_THE_RULEBOOK)
def test_who_holds_the_answer_already_gets_no_body(client, address):
    first = client.get(address)
    again = client.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    assert again.headers["ETag"] == first.headers["ETag"]
    other = client.get(address, headers={"If-None-Match": '"something-else"'})
    assert other.status_code == 200
    assert other.data == first.data
