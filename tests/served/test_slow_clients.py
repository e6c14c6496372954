"""A client that is slow with its request keeps nobody waiting for long: it is let go, whatever it has sent."""

import socket
import threading
from collections.abc import Iterator
from contextlib import ExitStack

import pytest

from tacticapi.cli.serve import PROXY_WANTED

from .running import Service, running

HEAD = b"POST /v1/suggestions HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
UNFINISHED = {
    "half a head": b"GET /livez HTTP/1.1\r\nHost: x\r\n",
    "half a body": HEAD + b"Content-Length: 100\r\n\r\n{",
    "half a chunk": HEAD + b"Transfer-Encoding: chunked\r\n\r\n50\r\n{",
    "no last chunk": HEAD + b"Transfer-Encoding: chunked\r\n\r\n1\r\n{\r\n",
    "TLS": bytes.fromhex("16030100c8010000c40303"),
}


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """A service of one worker, which nobody replaces while it waits."""
    with running(tmp_path_factory.mktemp("slow"), TACTICAPI_TIMEOUT="600", TACTICAPI_ARRIVAL="1") as started:
        yield started


def connected(service: Service, sent: bytes) -> socket.socket:
    connection = socket.create_connection(("127.0.0.1", service.port), timeout=60)
    connection.sendall(sent)
    return connection


@pytest.mark.parametrize("name", UNFINISHED)
def test_who_does_not_finish_is_let_go_and_the_next_is_answered(service, name):
    with connected(service, UNFINISHED[name]) as slow:
        assert service.get("/livez").status_code == 200
        told = slow.makefile("rb").read()
    assert not told or told.startswith(b"HTTP/1.1 400")
    assert not [line for line in service.lines() if line["level"] == "error"]


def test_several_at_once_hold_nobody_up(service):
    with ExitStack() as held:
        slow = [held.enter_context(connected(service, UNFINISHED["half a head"])) for _ in range(3)]
        assert service.get("/livez").status_code == 200
        assert [one.makefile("rb").read() for one in slow] == [b""] * 3


def test_a_byte_now_and_then_is_not_enough(service):
    done = threading.Event()
    with connected(service, UNFINISHED["half a head"] + b"X-Long: ") as slow:

        def drip() -> None:
            while not done.wait(0.2):
                try:
                    slow.sendall(b"a")
                except OSError:  # let go
                    return

        dripping = threading.Thread(target=drip)
        dripping.start()
        try:
            assert service.get("/livez").status_code == 200
        finally:
            done.set()
            dripping.join()


@pytest.mark.parametrize(("settings", "told"), [({}, True), ({"TACTICAPI_PROXIES": "1"}, False)])
def test_the_start_says_that_a_proxy_belongs_in_front(tmp_path, settings, told):
    with running(tmp_path, TACTICAPI_HOST="0.0.0.0", TACTICAPI_ALLOW_OPEN="1", **settings) as started:
        if told:
            started.said(PROXY_WANTED)
        assert any(line["event"] == PROXY_WANTED for line in started.lines()) is told
