"""A real service, and a server that misbehaves."""

import json
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest

from tacticapi.client import Client

from ..served.running import running


@pytest.fixture(scope="session")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a service that needs no token."""
    with running(tmp_path_factory.mktemp("service")) as started:
        yield started.address


@pytest.fixture
def client(service: str) -> Iterator[Client]:
    with Client(service) as made:
        yield made


@dataclass
class Reply:
    """An answer to give, or a connection to drop: before it (`drop`), or in its midst (`cut`)."""

    status: int = 200
    body: Any = field(default_factory=dict)
    headers: dict[str, str] = field(default_factory=dict)
    drop: bool = False
    cut: bool = False

    def text(self) -> bytes:
        return self.body if isinstance(self.body, bytes) else json.dumps(self.body).encode()


@dataclass
class Unsteady:
    """A server that gives these replies in turn, and remembers what was asked."""

    address: str = ""
    replies: list[Reply] = field(default_factory=list)
    asked: list[tuple[str, str, dict[str, str]]] = field(default_factory=list)

    def gives(self, *replies: Reply) -> None:
        self.replies[:] = replies


@pytest.fixture
def unsteady() -> Iterator[Unsteady]:
    kept = Unsteady()

    class Handler(BaseHTTPRequestHandler):
        def answer(self) -> None:
            self.rfile.read(int(self.headers.get("Content-Length", 0)))
            kept.asked.append((self.command, self.path, dict(self.headers)))
            reply = kept.replies.pop(0)
            if reply.drop:
                self.close_connection = True
                return
            body = reply.text()
            self.send_response(reply.status)
            headers = {"Content-Type": "application/json", "Content-Length": str(len(body)), **reply.headers}
            for name, value in headers.items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(body[: len(body) // 2] if reply.cut else body)
            self.close_connection = True

        do_GET = do_POST = do_PATCH = answer

        def log_message(self, *args: Any) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    kept.address = f"http://127.0.0.1:{server.server_address[1]}"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    yield kept
    server.shutdown()
    server.server_close()
    thread.join()
