"""`tacticapi serve` as a process of its own, with its log read as what it is: one JSON object a line."""

import json
import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import requests

WITHIN_S = 120  # on a machine that does much else
SITUATION = {"moment": "change-of-ends"}
SEEN = {"what": "rally.forehand_errors", "count": 2, "of": 8, "set": 1, "game": 3}


@dataclass
class Service:
    port: int
    process: subprocess.Popen[bytes]
    log: Path

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def get(self, path: str, **more: Any) -> requests.Response:
        return requests.get(self.address + path, timeout=30, **more)

    def post(self, path: str, body: Any, **more: Any) -> requests.Response:
        return requests.post(self.address + path, json=body, timeout=30, **more)

    def made(self, path: str, body: Any) -> Any:
        answer = self.post(path, body)
        assert answer.status_code == 201, answer.text
        return answer.json()

    def players(self) -> dict[str, str]:
        """Two new players, as a match names them."""
        made = (self.made("/v1/players", {"side": side, "label": side}) for side in ("own", "opponent"))
        return {f"{player['side']}_id": player["id"] for player in made}

    def match(self) -> str:
        """The address of a new match of two new players."""
        return f"/v1/matches/{self.made('/v1/matches', self.players())['id']}"

    def ready(self) -> Any:
        return self.get("/readyz").json()

    def raw(self, sent: bytes) -> bytes:
        """What comes back for these bytes until the service closes the connection."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=30) as connection:
            connection.sendall(sent)
            return connection.makefile("rb").read()

    def workers(self) -> list[int]:
        told = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text()
        return [int(child) for child in told.split()]

    def lines(self) -> list[dict[str, Any]]:
        return [json.loads(line) for line in self.log.read_text().splitlines() if line.startswith("{")]

    def said(self, event: str) -> dict[str, Any]:
        """The first line of this event, waited for."""
        assert until(lambda: any(line["event"] == event for line in self.lines())), self.log.read_text()
        return next(line for line in self.lines() if line["event"] == event)

    def counted(self, name: str) -> float:
        """The sum of a count over all its labels."""
        found = re.findall(rf"^{name}(?:{{.*}})? ([0-9.e+]+)$", self.get("/metrics").text, re.MULTILINE)
        return sum(map(float, found))


def until(holds: Callable[[], Any]) -> bool:
    """Whether it holds before the time is over; a service that does not answer yet does not hold."""
    end = time.monotonic() + WITHIN_S
    while time.monotonic() < end:
        try:
            if holds():
                return True
        except (requests.ConnectionError, requests.Timeout):
            pass
        time.sleep(0.1)
    return False


def free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port: int = listener.getsockname()[1]
        return port


@contextmanager
def running(folder: Path, program: tuple[str, ...] = ("-m", "tacticapi"), **environment: str) -> Iterator[Service]:
    """Serve from this folder until the block ends."""
    port = free_port()
    own = {"TACTICAPI_DB": str(folder / "kept.db"), "TACTICAPI_PORT": str(port), "TACTICAPI_WORKERS": "1"}
    with (folder / f"log-{port}").open("wb") as log:
        command, settings = [sys.executable, *program, "serve"], {**os.environ, **own, **environment}
        process = subprocess.Popen(command, env=settings, stdout=log, stderr=log)
    service = Service(port, process, folder / f"log-{port}")
    try:
        assert until(lambda: process.poll() is not None or service.ready()), service.log.read_text()
        assert process.poll() is None, service.log.read_text()
        yield service
    finally:
        process.terminate()
        process.wait(timeout=60)
