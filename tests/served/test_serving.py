"""The service as it runs in earnest: house rules over HTTP, edits while it runs, and requests that are no HTTP."""

import json
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from tacticapi.api import create_app
from tacticapi.api.http.problems import MEDIA_TYPE, PROBLEMS
from tacticapi.cli import main
from tacticapi.seeds import demo_situation

from ..api.front.documented import example, sections
from ..builders import HOUSE_TACTIC
from .running import Service, running, until

HOST = "HTTP/1.1\r\nHost: x"
CHUNKS = f"POST /v1/suggestions {HOST}\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked"
SHORT = {
    "broken-request": ("GET / HTTP/9.9\r\nHost: x", 400),
    "address-too-long": (f"GET /{'a' * 9000} {HOST}", 414),
    "expectation-failed": (f"GET /livez {HOST}\r\nExpect: wonders", 417),
    "headers-too-large": (f"GET /livez {HOST}\r\nX-A: {'a' * 20_000}", 431),
    "no text": ("\x00\x01", 400),
    "no name of a header": (f"GET /livez {HOST}\r\nfoo bar: 1", 400),
    "no chunk": (f"{CHUNKS}\r\n\r\nzz\r\n{{}}\r\n0", 400),
    "not-implemented": (f"POST /v1/suggestions {HOST}\r\nTransfer-Encoding: other", 501),
}
SHOWN_AS = {"address-too-long": "GET /aaaa… HTTP/1.1", "headers-too-large": "GET /livez HTTP/1.1\nX-A: aaaa…"}
MUTED, REWEIGHTED = "make-serve-and-volleyer-volley-low", "block-return-deep-middle"
HOUSE = f"mute: [{MUTED}]\nreweight:\n  {REWEIGHTED}: {{share: 0.5}}\n"
ADDED = HOUSE_TACTIC.replace("{all: []}", "{all: [{context: coaching, is: permitted}]}").replace("order: 5", "order: 1")


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("house")
    (folder / "tactics").mkdir()
    (folder / "house.yaml").write_text(HOUSE)
    (folder / "tactics" / "serve.yaml").write_text(ADDED)
    return folder


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory, house: Path) -> Iterator[Service]:
    with running(tmp_path_factory.mktemp("service"), TACTICAPI_RULES=str(house)) as started:
        yield started


def test_house_rules_add_mute_and_weigh_and_are_named_by_the_digest(service, rulebook, adviser):
    body = {**demo_situation("change-of-ends"), "limit": 10}
    del body["tries"], body["plan"]  # of the tactic that the house mutes
    client = create_app({"ADVISER": adviser}).test_client()
    ours = {line["tactic"]: line for line in json.loads(client.post("/v1/suggestions", json=body).data)["suggestions"]}
    advice = service.post("/v1/suggestions", body).json()
    theirs = {line["tactic"]: line for line in advice["suggestions"]}
    assert "club-serve" in theirs
    assert theirs["club-serve"]["sources"][0]["status"] == "house rule"
    assert MUTED in ours
    assert MUTED not in theirs
    assert theirs[REWEIGHTED]["worth"]["point"] > ours[REWEIGHTED]["worth"]["point"]
    assert advice["rulebook"]["digest"] == service.ready()["rulebook"]["digest"] != rulebook.digest


@pytest.mark.parametrize("name", sorted(SHORT))
def test_what_is_no_http_is_told_in_a_problem_document_as_the_docs_show_it(service, name):
    sent, expected = SHORT[name]
    head, _, body = service.raw(f"{sent}\r\n\r\n".encode()).decode().partition("\r\n\r\n")
    status, *headers = head.split("\r\n")
    answered = dict(header.split(": ", 1) for header in headers)
    assert int(status.split()[1]) == json.loads(body)["status"] == expected
    assert answered["Content-Type"] == MEDIA_TYPE
    assert "Content-Security-Policy" in answered
    if name in sections():
        told = SHOWN_AS.get(name, sent.replace("\r\n", "\n"))
        shown = example(told, status.removeprefix("HTTP/1.1 "), answered, body.encode())
        assert shown.text() in sections()[name], shown.text()
    assert json.loads(body)["type"] in {kind.type for kind in PROBLEMS}
    assert service.ready()["status"] == "ready"


@pytest.mark.parametrize("header", ["SCRIPT_NAME", "PATH_INFO"])
def test_no_header_stands_for_the_path(service, header):
    sent = f"GET /livez HTTP/1.1\r\nHost: x\r\n{header}: /v1/rulebook\r\nConnection: close\r\n\r\n"
    assert service.raw(sent.encode()).endswith(b'{"status":"alive"}\n')


def test_a_broken_edit_leaves_the_rules_in_use_and_the_next_good_one_counts(service, house):
    file, before = house / "tactics" / "serve.yaml", service.ready()["rulebook"]["digest"]
    file.write_text(ADDED.replace("risk: low", "risk: none"))
    service.process.send_signal(signal.SIGHUP)
    told = service.said("the new rules cannot be used; the current rules stay in use")
    assert f'{file}:10: /tactics/0/risk: expected one of low, medium, high, found "none"' in told["faults"]
    assert told["digest"] == before
    assert until(lambda: service.ready()["rulebook"]["digest"] == before)
    file.write_text(ADDED.replace("order: 1", "order: 2"))
    service.process.send_signal(signal.SIGHUP)
    assert until(lambda: service.ready()["rulebook"]["digest"] != before)


def test_a_service_whose_rules_hold_a_mistake_does_not_start(tmp_path):
    (tmp_path / "tactics").mkdir()
    (tmp_path / "tactics" / "serve.yaml").write_text(ADDED.replace("low", "none"))
    told = CliRunner().invoke(main, ["serve", "--port", "1"], env={"TACTICAPI_RULES": str(tmp_path)})
    assert told.exit_code == 1
    assert f"{tmp_path}/tactics/serve.yaml:10: /tactics/0/risk: expected" in told.output
