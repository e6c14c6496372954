"""The match page as it is served: what it asks, what it may load, and nothing of a club."""

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.rulebook import KindSchema
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Way
from tacticapi.web import MODULES, OFFLINE, STATIC, page_data, spoken

LONGEST_MODULE = 200  # lines


@pytest.fixture(scope="module")
def client(adviser: Adviser) -> Iterator[FlaskClient]:
    with create_app({"ADVISER": adviser, "TESTING": True}).test_client() as client:
        yield client


def test_the_page_runs_no_script_and_takes_no_style_but_its_own_files(client: FlaskClient) -> None:
    page = client.get("/match-page")
    policy = page.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy
    assert not re.search(r"<style|style=|\son\w+=|https?://", page.text.replace(_data(page.text), ""))
    named = set(re.findall(r'(?:href|src)="(/[^"]+)"', page.text))
    assert {f"/match-page/{module}" for module in MODULES} < named
    for address in named:
        with client.get(address) as answer:
            assert answer.status_code == 200, address


def test_the_worker_that_runs_beside_the_page_may_serve_it_and_fetch_nothing_else(client: FlaskClient) -> None:
    policy = client.get("/match-page").headers["Content-Security-Policy"]
    with client.get(f"/match-page/{OFFLINE}") as worker, client.get(f"/match-page/{MODULES[0]}") as module:
        assert worker.headers["Service-Worker-Allowed"] == "/match-page"
        assert worker.headers["Content-Security-Policy"] == policy
        assert "Service-Worker-Allowed" not in module.headers


@pytest.mark.parametrize("name", ["none.js", "../match_page.py", "%2e%2e/match_page.py", "views"])
def test_nothing_else_is_served_beside_it(client: FlaskClient, name: str) -> None:
    assert client.get(f"/match-page/{name}").status_code == 404


def test_it_asks_every_question_of_the_vocabulary_but_those_it_answers_itself(
    adviser: Adviser, rulebook: Rulebook
) -> None:
    asked = {kind["id"] for kind in page_data(adviser, KindSchema.written)["kinds"]}
    assert {kind.subject for kind in rulebook.kinds.values() if kind.id not in asked} == {"plan", "record"}


def test_questions_are_told_to_people_and_not_to_programs(rulebook: Rulebook) -> None:
    for kind in rulebook.kinds.values():
        asks = spoken(kind)
        assert asks
        assert "`" not in asks
        assert not re.search(r"As a count:|\bPost\b", asks), asks


def test_one_tap_asks_for_one_count(adviser: Adviser) -> None:
    for kind in page_data(adviser, KindSchema.written)["kinds"]:
        assert {Way.COUNT, Way.COUNTS} - set(kind["ways"]), kind["id"]
        assert kind["ways"], kind["id"]


def test_it_holds_the_safety_lines_of_each_danger_sign_for_a_phone_without_a_line(adviser: Adviser) -> None:
    signs = page_data(adviser, KindSchema.written)["signs"]
    lines = {sign["value"]: [line["tactic"] for line in sign["lines"]] for sign in signs}
    assert lines[None] == ["safety-overrides-tactics"]
    assert lines["head knock"] == ["safety-overrides-tactics", "head-knock-off-court"]
    lasting = {sign["value"] for sign in signs if sign["for_the_match"]}
    assert lasting == {"chest pain", "head knock", "collapse", "seizure"}
    assert lines.keys() == {None, *adviser.rulebook.kinds["physical.warning_sign"].options}


def test_it_says_that_it_is_not_for_betting(client: FlaskClient) -> None:
    assert "Not for betting." in client.get("/match-page").text


def test_a_module_is_read_in_one_sitting_and_asks_the_public_api_alone() -> None:
    for module in MODULES:
        text = Path(STATIC, module).read_text(encoding="utf-8")
        assert len(text.splitlines()) < LONGEST_MODULE, module
        assert "innerHTML" not in text, module
        assert not re.search(r"https?://", text), module
        assert text.startswith("// "), f"{module} does not say what it is for"


def _data(page: str) -> str:
    found = re.search(r'id="page-data">(.*?)</script>', page)
    assert found is not None
    assert json.loads(found[1])["permitted"]["not-permitted"] == []
    return found[1]
