"""The service as it runs in earnest: house rules over HTTP, edits while it runs, and requests that are no HTTP."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import requests
from click.testing import CliRunner

from tacticapi.api.problems import MEDIA_TYPE
from tacticapi.cli import main
from tacticapi.domain.rulebook import Rulebook
from tacticapi.seeds import demo_situation

STARTS_WITHIN_S = 60
MUTED, REWEIGHTED = "make-serve-and-volleyer-volley-low", "first-ball-low-second-ball-past"
HOUSE = f"mute: [{MUTED}]\nreweight:\n  {REWEIGHTED}: {{gain: 0.15, share: 0.5}}\n"
ADDED = """\
category: serve
tactics:
  - id: club-body-serve
    title: Serve into the body
    say: "Serve into the body and look how they cope."
    why: The club has seen it work.
    when:
      - all: [{context: coaching, is: permitted}]
    not_if: They step round it.
    stop_when: Look again after losing four of six.
    show: gain
    risk: low
    effect: {on: serve, share: 0.5, gain: 0.04, loss: 0.0, cause: observed}
    source: house rule
"""


@dataclass
class Service:
    address: str
    port: int
    house: Path
    process: subprocess.Popen[bytes]
    log: Path

    def ready(self) -> Any:
        return requests.get(f"{self.address}/readyz", timeout=10).json()

    def advice(self) -> Any:
        body = {**demo_situation("change-of-ends"), "limit": 10}
        del body["tries"]
        return requests.post(f"{self.address}/v1/suggestions", json=body, timeout=30).json()

    def said(self, words: str) -> bool:
        return until(lambda: words in self.log.read_text())


def until(holds: Any) -> bool:
    end = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < end:
        try:
            if holds():
                return True
        except requests.ConnectionError:
            pass
        time.sleep(0.1)
    return False


def free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port: int = listener.getsockname()[1]
        return port


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    folder = tmp_path_factory.mktemp("service")
    house = folder / "house"
    (house / "tactics").mkdir(parents=True)
    (house / "house.yaml").write_text(HOUSE)
    (house / "tactics" / "serve.yaml").write_text(ADDED)
    port = free_port()
    kept = {"TACTICAPI_RULES": str(house), "TACTICAPI_DB": str(folder / "kept.db")}
    with (folder / "log").open("wb") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "tacticapi", "serve", "--port", str(port), "--workers", "1"],
            env={**os.environ, **kept},
            stdout=log,
            stderr=log,
        )
    started = Service(f"http://127.0.0.1:{port}", port, house, process, folder / "log")
    try:
        assert until(started.ready), started.log.read_text()
        yield started
    finally:
        process.terminate()
        process.wait(timeout=30)


def test_house_rules_add_mute_and_weigh_and_are_named_by_the_digest(
    service: Service, rulebook: Rulebook, client: Any
) -> None:
    body = {**demo_situation("change-of-ends"), "limit": 10}
    del body["tries"]
    ours = {line["tactic"]: line for line in client.post("/v1/suggestions", json=body).json["suggestions"]}
    advice = service.advice()
    theirs = {line["tactic"]: line for line in advice["suggestions"]}
    assert "club-body-serve" in theirs
    assert theirs["club-body-serve"]["source"]["status"] == "house rule"
    assert MUTED in ours
    assert MUTED not in theirs
    assert theirs[REWEIGHTED]["gain"]["point"] > ours[REWEIGHTED]["gain"]["point"]
    assert advice["rulebook"]["digest"] == service.ready()["rulebook"]["digest"] != rulebook.digest


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        (b"\x00\x01\r\n\r\n", 400),
        (b"GET / HTTP/9.9\r\nHost: x\r\n\r\n", 400),
        (b"GET /" + b"a" * 9000 + b" HTTP/1.1\r\nHost: x\r\n\r\n", 414),
        (b"GET /livez HTTP/1.1\r\nHost: x\r\nX-A: " + b"a" * 20_000 + b"\r\n\r\n", 431),
        (b"GET /livez HTTP/1.1\r\nHost: x\r\nfoo bar: 1\r\n\r\n", 400),
        (b"GET /livez HTTP/1.1\r\nHost: x\r\nExpect: wonders\r\n\r\n", 417),
        (b"POST /v1/suggestions HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: other\r\n\r\n{}", 501),
        (
            b"POST /v1/suggestions HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
            b"Transfer-Encoding: chunked\r\n\r\nzz\r\n{}\r\n0\r\n\r\n",
            400,
        ),
    ],
)
def test_what_is_no_http_is_told_in_a_problem_document(service: Service, sent: bytes, status: int) -> None:
    with socket.create_connection(("127.0.0.1", service.port), timeout=10) as connection:
        connection.sendall(sent)
        head, _, body = connection.makefile("rb").read().partition(b"\r\n\r\n")
    assert int(head.split()[1]) == status
    assert f"Content-Type: {MEDIA_TYPE}".encode() in head
    assert json.loads(body)["status"] == status
    assert service.ready()["status"] == "ready"


@pytest.mark.parametrize("header", ["SCRIPT_NAME", "PATH_INFO"])
def test_no_header_stands_for_the_path(service: Service, header: str) -> None:
    sent = f"GET /livez HTTP/1.1\r\nHost: x\r\n{header}: /v1/rulebook\r\nConnection: close\r\n\r\n"
    with socket.create_connection(("127.0.0.1", service.port), timeout=10) as connection:
        connection.sendall(sent.encode())
        assert connection.makefile("rb").read().endswith(b'{"status":"alive"}\n')


def test_a_broken_edit_leaves_the_rules_in_use_and_the_next_good_one_counts(service: Service) -> None:
    file, before = service.house / "tactics" / "serve.yaml", service.ready()["rulebook"]["digest"]
    file.write_text(ADDED.replace("risk: low", "risk: none"))
    service.process.send_signal(signal.SIGHUP)
    assert service.said(f'{file}:12: /tactics/0/risk: expected one of low, medium, high, found "none"')
    assert service.said(f"The rules in use stay: {before}")
    assert until(lambda: service.ready()["rulebook"]["digest"] == before)
    file.write_text(ADDED.replace("gain: 0.04", "gain: 0.03"))
    service.process.send_signal(signal.SIGHUP)
    assert until(lambda: service.ready()["rulebook"]["digest"] != before)


def test_a_service_whose_rules_hold_a_mistake_does_not_start(tmp_path: Path) -> None:
    (tmp_path / "tactics").mkdir()
    (tmp_path / "tactics" / "serve.yaml").write_text(ADDED.replace("surface", "surfaces").replace("low", "none"))
    told = CliRunner().invoke(main, ["serve", "--port", "1"], env={"TACTICAPI_RULES": str(tmp_path)})
    assert told.exit_code == 1
    assert f"{tmp_path}/tactics/serve.yaml:12: /tactics/0/risk: expected" in told.output
