"""A service that a proxy hosts under a path of its own: whatever address it names leads back to it."""

import re
from collections.abc import Iterator
from typing import Any
from urllib.parse import urljoin, urlsplit

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.club import clubs
from tacticapi.seeds import demo_situation
from tacticapi.web import MODULES

from ...databases import app_on, new_database, services_of

PREFIX = "/tactics"
SECURE = {"X-Forwarded-Prefix": PREFIX, "X-Forwarded-Proto": "https", "X-Forwarded-For": "203.0.113.9"}


class Behind:
    """A client of a service behind a proxy that takes the prefix from each path, and names it in a header."""

    def __init__(self, app: Flask, token: str) -> None:
        self.client: FlaskClient = app.test_client()
        self.headers = {**SECURE, "Host": "club.example", "Authorization": f"Bearer {token}"}

    def ask(self, method: str, address: str, **more: Any) -> TestResponse:
        path = urlsplit(urljoin(f"https://club.example{PREFIX}/", address))
        assert path.netloc == "club.example"
        assert path.path.startswith(f"{PREFIX}/"), f"{address} leads out of the service"
        headers = {**self.headers, **more.pop("headers", {})}
        inside = path._replace(scheme="", netloc="", path=path.path.removeprefix(PREFIX), fragment="").geturl()
        return self.client.open(inside, method=method, headers=headers, **more)

    def get(self, address: str) -> TestResponse:
        return self.ask("GET", address)


@pytest.fixture(scope="module")
def app(adviser: Adviser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    with app_on(new_database("sqlite", tmp_path_factory.mktemp("prefix")), adviser, PROXIES=1) as app:
        yield app


@pytest.fixture(scope="module")
def behind(app: Flask) -> Behind:
    services = services_of(app)
    club = clubs.create(services, "Two Kilns").club_id
    return Behind(app, clubs.create_token(services, club, "x", clubs.SCOPES).text)


def named(page: TestResponse, address: str) -> set[str]:
    """The addresses that a page names, as a browser resolves them; not those within it."""
    found = re.findall(r'(?:href|src)="([^"#]+)', page.text)
    return {urljoin(f"{PREFIX}{address}", each) for each in found if not each.startswith("data:")}


def test_every_link_of_the_pages_leads_to_the_service(behind):
    seen: set[str] = set()
    for address in ("/", "/match", "/demo", "/guide", "/guide/coach", "/guide/secretary", "/docs"):
        page = behind.get(f"{PREFIX}{address}")
        assert page.status_code == 200
        seen |= named(page, address)
    assert {f"{PREFIX}/static/{module}" for module in MODULES} < seen
    for address in seen:
        with behind.get(address) as answer:
            assert answer.status_code == 200, address


def test_the_manifest_follows(behind):
    with behind.get(f"{PREFIX}/manifest.webmanifest") as answer:
        told = answer.get_json(force=True)
    for address in [told["start_url"], told["scope"], *(one["src"] for one in told["icons"])]:
        with behind.get(urljoin(f"{PREFIX}/manifest.webmanifest", address)) as answer:
            assert answer.status_code == 200, address


def test_links_locations_pictures_and_problems_of_the_api_lead_to_the_service(behind):
    made = [behind.ask("POST", f"{PREFIX}/v1/players", json={"side": s, "label": s}) for s in ("own", "opponent")]
    own, opponent = (behind.get(one.headers["Location"]).json["id"] for one in made)
    body = {"own_id": own, "opponent_id": opponent, "context": {"coaching": "permitted", "device": "coach"}}
    match = behind.ask("POST", f"{PREFIX}/v1/matches", json=body).headers["Location"]
    point = behind.ask("POST", f"{match}/points", json={"winner": "own"}).headers["Location"]
    assert behind.get(point).json["point"] == {"winner": "own"}
    page = behind.get(f"{PREFIX}/v1/players?page_size=1")
    following = re.fullmatch(r'<(.+)>; rel="next"', page.headers["Link"])
    assert following
    assert behind.get(following[1]).json["items"] != page.json["items"]
    advice = behind.ask("POST", f"{PREFIX}/v1/suggestions", json=demo_situation("change-of-ends")).json
    pictures = [one["picture"] for one in advice["suggestions"] if "picture" in one]
    assert pictures
    assert all(behind.get(picture).mimetype == "image/svg+xml" for picture in pictures)
    problem = behind.get(f"{PREFIX}/v1/players/{match[-36:]}").json
    assert behind.get(problem["type"]).json["title"] == problem["title"]
    link = behind.ask("POST", f"{match}/court-links").json["url"]
    assert link.startswith(f"https://club.example{PREFIX}/match#/court/link_")
    assert behind.get(link).status_code == 200


def test_the_contract_and_the_catalogue_name_where_the_service_is(behind):
    assert behind.get(f"{PREFIX}/openapi.json").json["servers"] == [{"url": PREFIX}]
    catalog = behind.get(f"{PREFIX}/.well-known/api-catalog")
    assert behind.get(catalog.headers["Link"].partition(">")[0].removeprefix("<")).status_code == 200
    for links in catalog.json["linkset"][1].values():
        for link in links if isinstance(links, list) else ():
            assert behind.get(link["href"]).status_code == 200, link
    kinds = behind.get(f"{PREFIX}/problems").json["items"]
    assert all(behind.get(kind["type"]).status_code == 200 for kind in kinds)


def test_the_demo_plays_there_too(behind):
    listed = behind.get(f"{PREFIX}/demo/9/v1/matches?page_size=1")
    match = listed.json["items"][0]["id"]
    players = behind.get(f"{PREFIX}/demo/9/v1/players?page_size=1")
    assert players.headers["Link"].startswith(f"<{PREFIX}/demo/9/v1/players?")
    missing = behind.get(f"{PREFIX}/demo/9/v1/matches/{match[::-1]}").json
    assert missing["type"].startswith(f"{PREFIX}/problems/")


def test_without_a_proxy_the_header_counts_for_nothing(adviser):
    client = create_app({"ADVISER": adviser}).test_client()
    assert PREFIX not in client.get("/match", headers=SECURE).text
    assert client.get("/v1/nothing", headers=SECURE).json["type"] == "/problems/not-found"
