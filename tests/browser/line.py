"""A line between browser and service that can be cut, or lose an answer after the service has done its work."""

import socket
import threading
import time
from collections.abc import Callable
from socketserver import BaseRequestHandler, ThreadingTCPServer
from types import TracebackType
from typing import Self
from urllib.parse import urlsplit

WAITS_S = 30
_REFUSAL = b"HTTP/1.0 400 Bad Request\r\nX-Request-ID: line\r\nContent-Type: application/problem+json\r\n\r\n{}"


class Line:
    """Passes each request on, one a connection, as the service closes each.

    cut: whether nothing passes. loses_answers_to: the start of a request whose answer is lost on its way back.
    refuses: the start of a request that is refused in place of the service.
    holds: the start of a request that waits, while this is set, before it goes on to the service.
    from_afar: whether the service is told, as by a proxy, that requests come from another machine.
    """

    def __init__(self, service_url: str) -> None:
        self.cut = self.from_afar = False
        self.loses_answers_to: bytes | None = None
        self.refuses: bytes | None = None
        self.holds: bytes | None = None
        self.held = 0
        self.lost = 0
        self._service = (urlsplit(service_url).hostname or "", urlsplit(service_url).port or 0)
        self._server = _Server(("127.0.0.1", 0), _handler(self._pass_on))
        self.url = f"http://127.0.0.1:{self._server.server_address[1]}"

    def __enter__(self) -> Self:
        threading.Thread(target=self._server.serve_forever, daemon=True).start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._server.shutdown()
        self._server.server_close()

    def _pass_on(self, client: socket.socket) -> None:
        client.settimeout(WAITS_S)
        request = _read_request(client)
        if self.cut or not request:
            return
        if self.refuses is not None and request.startswith(self.refuses):
            client.sendall(_REFUSAL)
            return
        if self.holds is not None and request.startswith(self.holds):
            self.held += 1
            while self.holds is not None:
                time.sleep(0.01)
        if self.from_afar:
            request = request.replace(b"\r\n", b"\r\nX-Forwarded-For: 192.0.2.7\r\n", 1)
        with socket.create_connection(self._service, timeout=WAITS_S) as service:
            service.sendall(request)
            answer = b"".join(iter(lambda: service.recv(65536), b""))
        if self.loses_answers_to is not None and request.startswith(self.loses_answers_to):
            self.lost += 1
        elif not self.cut:
            client.sendall(answer)


class _Server(ThreadingTCPServer):
    daemon_threads = True

    def handle_error(self, request: object, client_address: object) -> None:
        """A browser that hangs up early is no fault of the line."""


def _handler(pass_on: Callable[[socket.socket], None]) -> type[BaseRequestHandler]:
    class Handler(BaseRequestHandler):
        def handle(self) -> None:
            pass_on(self.request)

    return Handler


def _read_request(client: socket.socket) -> bytes:
    request = b""
    while b"\r\n\r\n" not in request:
        some = client.recv(65536)
        if not some:
            return b""
        request += some
    head, _, body = request.partition(b"\r\n\r\n")
    fields = (field.partition(b":") for field in head.split(b"\r\n")[1:])
    length = next((int(value) for name, _, value in fields if name.lower() == b"content-length"), 0)
    while len(body) < length:
        body += client.recv(65536)
    return head + b"\r\n\r\n" + body
