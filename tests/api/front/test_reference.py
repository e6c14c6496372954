"""What the service tells about itself: its contract, its problems, its catalogue."""

import re

from tacticapi.api.contract import METHODS
from tacticapi.api.http.problems import PROBLEMS, problem_of
from tacticapi.api.reference import reference_page

from .documented import PAGE


def test_the_contract_is_served_as_it_is_published(new_app):
    client = new_app().test_client()
    served = client.get("/openapi.json").get_json()
    assert served["openapi"] == "3.1.0"
    assert "/openapi.json" in served["paths"]
    held = client.get("/openapi.json").headers["ETag"]
    assert client.get("/openapi.json", headers={"If-None-Match": held}).status_code == 304


def test_the_reference_shows_every_operation_and_schema_and_asks_for_nothing(new_app):
    client = new_app().test_client()
    contract, page = client.get("/openapi.json").get_json(), client.get("/docs")
    assert page.content_type == "text/html; charset=utf-8"
    for path in contract["paths"].values():
        for method in path.keys() & METHODS:
            assert f'id="{path[method]["operationId"]}"' in page.text
    assert set(contract["components"]["schemas"]) == set(re.findall(r'<details id="schema-(\w+)"', page.text))
    assert set(re.findall(r'href="#schema-(\w+)"', page.text)) <= set(contract["components"]["schemas"])
    assert not re.search(r"<script|<img|<iframe|src=|url\(|https?://[^<\s]*['\"]", page.text)
    policy = page.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; style-src 'sha256-")
    assert "unsafe" not in policy


def test_a_description_is_read_as_markdown_and_no_html_gets_through(new_app):
    contract = new_app().test_client().get("/openapi.json").get_json()
    contract["info"]["description"] = "Say `moment`.\n\n- <b>one</b>\n- two"
    page = reference_page(contract)
    assert "<p>Say <code>moment</code>.</p>" in page
    assert "<li>&lt;b&gt;one&lt;/b&gt;</li>" in page


def test_the_catalogue_leads_to_contract_reference_and_health(new_app):
    client = new_app().test_client()
    told = client.get("/.well-known/api-catalog")
    assert told.content_type == 'application/linkset+json; profile="https://www.rfc-editor.org/info/rfc9727"'
    links = told.get_json()["linkset"][1]
    assert links["anchor"] == "http://localhost/v1"
    for relation in ("service-desc", "service-doc", "status"):
        address = links[relation][0]["href"].removeprefix("http://localhost")
        assert client.get(address).status_code == 200
    head = client.head("/.well-known/api-catalog")
    assert head.headers["Link"] == '</.well-known/api-catalog>; rel="api-catalog"'


def test_every_type_of_problem_leads_to_a_page_on_it(new_app):
    client = new_app().test_client()
    listed = client.get("/problems").get_json()["items"]
    assert [one["type"] for one in listed] == [problem.type for problem in PROBLEMS]
    for one in listed:
        assert client.get(one["type"]).get_json() == one
    missing = client.get("/problems/none-of-ours")
    assert (missing.status_code, missing.get_json()["type"]) == (404, "/problems/not-found")


def test_the_docs_have_a_section_for_each_problem_and_for_no_other():
    text = PAGE.read_text(encoding="utf-8")
    sections = dict(re.findall(r"^### `([a-z-]+)`\n\n(.*)$", text, re.MULTILINE))
    assert sections == {problem.name: f"{problem.status} · {problem.title}. {problem.mend}" for problem in PROBLEMS}


def test_every_status_is_told_as_a_registered_type():
    refused = (400, 401, 402, 403, 404, 405, 406, 408, 410, 413, 414, 415, 417, 426, 429, 431, 500, 501, 502, 503)
    for status in refused:
        assert problem_of(status).status == status
        assert problem_of(status).name in {one.name for one in PROBLEMS}
