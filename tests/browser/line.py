"""A line between browser and service that can be cut, or lose an answer after the service has done its work."""

import http.client
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import TracebackType
from typing import Any, Self
from urllib.parse import urlsplit

WAITS_S = 30


class Line:
    """Passes each request on, one a connection. A request is known by its start, as "POST /v1/matches/".

    cut: whether nothing passes. loses_answers_to: the request whose answer is lost on its way back.
    refuses: the request that is refused in place of the service. holds: the request that waits while this is set.
    """

    def __init__(self, service_url: str) -> None:
        self.cut = False
        self.loses_answers_to: str | None = None
        self.refuses: str | None = None
        self.holds: str | None = None
        self.lost = self.held = 0
        self.service = urlsplit(service_url).netloc
        handler = type("Handler", (_Handler,), {"line": self, "timeout": WAITS_S})
        self._server = _Server(("127.0.0.1", 0), handler)
        self.url = f"http://127.0.0.1:{self._server.server_address[1]}"

    def __enter__(self) -> Self:
        threading.Thread(target=self._server.serve_forever, daemon=True).start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._server.shutdown()
        self._server.server_close()


class _Server(ThreadingHTTPServer):
    request_queue_size = 64  # a page asks for all its files at once

    def handle_error(self, request: object, client_address: object) -> None:
        """A browser that hangs up early is no fault of the line."""


class _Handler(BaseHTTPRequestHandler):
    line: Line

    def pass_on(self) -> None:
        """Ask the service, and answer with what it says."""
        line = self.line
        body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
        if line.cut:
            return
        if self.is_for(line.refuses):
            self.answer(400, {"X-Request-ID": "line", "Content-Type": "application/problem+json"}, b"{}")
            return
        if self.is_for(line.holds):
            line.held += 1
            while self.is_for(line.holds):
                time.sleep(0.01)
        service = http.client.HTTPConnection(line.service, timeout=WAITS_S)
        service.request(self.command, self.path, body or None, {**self.headers, "Connection": "close"})
        told = service.getresponse()
        said = told.read()
        if self.is_for(line.loses_answers_to):
            line.lost += 1
        elif not line.cut:
            self.answer(told.status, dict(told.headers), said)

    def is_for(self, start: str | None) -> bool:
        """Whether the request begins so."""
        return start is not None and f"{self.command} {self.path}".startswith(start)

    do_GET = do_POST = do_PATCH = pass_on

    def answer(self, status: int, headers: dict[str, str], body: bytes) -> None:
        self.send_response_only(status)
        for name, value in headers.items():
            if name not in ("Connection", "Transfer-Encoding"):
                self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *told: Any) -> None:
        """Say nothing."""
