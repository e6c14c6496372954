"""The rulebook over HTTP: lists in pages, and where a tactic happens, drawn for a pair of hands."""

from typing import Any
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient
from marshmallow import Schema
from werkzeug.http import parse_options_header

from tacticapi.api.rulebook import RulebookSchema, SourcePage
from tacticapi.api.tactics import TacticPage, TacticSchema
from tacticapi.api.vocabulary import KindPage, TraitPage
from tacticapi.domain.rulebook import Rulebook
from tacticapi.pictures.svg import NAMESPACE

LISTS: list[tuple[str, Schema, str, str]] = [
    ("/v1/vocabulary", KindPage, "kinds", "id"),
    ("/v1/traits", TraitPage, "traits", "id"),
    ("/v1/tactics", TacticPage, "tactics", "id"),
    ("/v1/sources", SourcePage, "sources", "key"),
]
OF_THE_RULEBOOK = [*(address for address, *_ in LISTS), "/v1/rulebook"]


def pages(client: FlaskClient, address: str) -> list[list[dict[str, Any]]]:
    found = []
    following: str | None = address
    while following:
        response = client.get(following)
        assert response.status_code == 200, response.text
        found.append(response.json["items"])  # type: ignore[index]
        link = response.headers.get("Link")
        following = parse_options_header(link)[0].strip("<>") if link else None
        assert link is None or link.endswith('rel="next"')
    return found


@pytest.mark.parametrize("listing", LISTS, ids=lambda listing: listing[0])
def test_pages_together_are_the_list_in_its_order(
    client: FlaskClient, rulebook: Rulebook, listing: tuple[str, Schema, str, str]
) -> None:
    address, schema, name, key = listing
    found = pages(client, f"{address}?page_size=17")
    assert all(len(page) == 17 for page in found[:-1])
    assert [item[key] for page in found for item in page] == list(getattr(rulebook, name))
    assert all(schema.validate({"items": page}) == {} for page in found)


def test_a_page_holds_fifty_unless_asked(client: FlaskClient) -> None:
    assert len(client.get("/v1/vocabulary").json["items"]) == 50  # type: ignore[index]


def test_filters_narrow_and_stay_in_the_link(client: FlaskClient) -> None:
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
def test_a_query_is_refused_where_it_is_wrong(client: FlaskClient, address: str, parameter: str) -> None:
    response = client.get(address)
    assert response.status_code == 422
    assert response.content_type == "application/problem+json"
    assert response.json["type"] == "/problems/invalid-query"  # type: ignore[index]
    assert [error["parameter"] for error in response.json["errors"]] == [parameter]  # type: ignore[index]


def test_one_tactic_is_served_by_its_id(client: FlaskClient, rulebook: Rulebook) -> None:
    for name in rulebook.tactics:
        response = client.get(f"/v1/tactics/{name}")
        assert response.json["id"] == name  # type: ignore[index]
        assert TacticSchema().validate(response.json) == {}  # type: ignore[arg-type]
    assert client.get("/v1/tactics/no-such-tactic").status_code == 404


def test_the_rulebook_names_itself(client: FlaskClient, rulebook: Rulebook) -> None:
    body = client.get("/v1/rulebook").json
    assert body is not None
    assert RulebookSchema().validate(body) == {}
    assert (body["version"], body["digest"]) == (rulebook.version, rulebook.digest)
    assert body["counts"]["tactics"] == len(rulebook.tactics) == sum(c["tactics"] for c in body["categories"])


@pytest.mark.parametrize("address", OF_THE_RULEBOOK)
def test_who_holds_the_answer_already_gets_no_body(client: FlaskClient, address: str) -> None:
    first = client.get(address)
    again = client.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    assert again.headers["ETag"] == first.headers["ETag"]
    other = client.get(address, headers={"If-None-Match": '"something-else"'})
    assert other.status_code == 200
    assert other.data == first.data


def test_who_asks_for_another_version_is_told_in_a_problem(client: FlaskClient) -> None:
    response = client.get("/v1/rulebook", headers={"If-Match": '"another"'})
    assert (response.status_code, response.content_type) == (412, "application/problem+json")


def test_health_is_told(client: FlaskClient, rulebook: Rulebook) -> None:
    assert client.get("/livez").json == {"status": "alive"}
    ready = client.get("/readyz").json
    assert ready is not None
    assert ready["status"] == "ready"
    assert ready["rulebook"] == {"version": rulebook.version, "digest": rulebook.digest}


SVG = f"{{{NAMESPACE}}}"


def words(client: FlaskClient, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200, response.text
    assert response.mimetype == "image/svg+xml"
    assert "default-src 'none'" in response.headers["Content-Security-Policy"]
    return ElementTree.fromstring(response.text).findtext(f"{SVG}desc") or ""


def test_the_hands_decide_where_a_wing_is(client: FlaskClient) -> None:
    address = "/v1/tactics/work-weaker-wing/picture?wing=backhand"
    right, left = (words(client, f"{address}&opponent={hand}") for hand in ("right", "left"))
    assert "two balls in three: on the opposite half, 2.7 m to your right of the middle" in right
    assert "two balls in three: on the opposite half, 2.7 m to your left of the middle" in left
    assert "your opponent as left-handed" in left
    assert words(client, "/v1/tactics/work-weaker-wing/picture") == right


def test_serve_targets_are_drawn_from_the_one_table(client: FlaskClient) -> None:
    told = words(client, "/v1/tactics/serve-to-hidden-wing/picture?opponent=left&wing=backhand")
    assert "deuce court: wide:" in told
    assert "ad court: T:" in told


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("no-such-tactic/picture", 404),
        ("reset-between-points/picture", 404),
        ("work-weaker-wing/picture?wing=elbow", 422),
        ("work-weaker-wing/picture?own=both", 422),
        ("work-weaker-wing/picture?colour=green", 422),
    ],
)
def test_what_cannot_be_drawn_is_said(client: FlaskClient, address: str, status: int) -> None:
    assert client.get(f"/v1/tactics/{address}").status_code == status


def test_a_picture_stands_as_long_as_the_rulebook(client: FlaskClient) -> None:
    address = "/v1/tactics/cross-court-home/picture"
    held = {"If-None-Match": client.get(address).headers["ETag"]}
    assert client.get(address, headers=held).status_code == 304


def test_a_suggestion_with_a_place_links_to_its_picture(client: FlaskClient, rulebook: Rulebook) -> None:
    body = {
        "moment": "before-match",
        "own": {"handedness": "right", "serve_placement": 3},
        "opponent": {"handedness": "left", "backhand_type": "one-handed"},
        "limit": 10,
    }
    suggestions = client.post("/v1/suggestions", json=body).get_json()["suggestions"]
    linked = {one["tactic"]: one["picture"] for one in suggestions if one["picture"]}
    assert linked
    for tactic, address in linked.items():
        assert address.startswith(f"/v1/tactics/{tactic}/picture?own=right&opponent=left")
        assert "left-handed" in words(client, address)
    without = [one["tactic"] for one in suggestions if not one["picture"]]
    assert without
    assert all(tactic not in rulebook.places and not rulebook.tactics[tactic].targets for tactic in without)
