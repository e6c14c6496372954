"""One connection for many requests, which keeps nobody else waiting and is closed when it should be."""

import http.client
import json
import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing
from http.client import HTTPConnection

import pytest
import requests

from .running import SITUATION, Service, running, until

GET = b"GET /livez HTTP/1.1\r\nHost: x\r\n\r\n"
POST = b"POST /v1/suggestions HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
ALIVE = b'{"status":"alive"}\n'


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(tmp_path_factory.mktemp("kept"), TACTICAPI_ARRIVAL="2") as started:
        yield started


@pytest.fixture
def connection(service: Service) -> Iterator[HTTPConnection]:
    """A connection that does not open itself anew."""
    with closing(HTTPConnection("127.0.0.1", service.port, timeout=30)) as opened:
        opened.connect()
        opened.auto_open = 0
        yield opened


def asked(connection: HTTPConnection, method: str, path: str, **more: str) -> http.client.HTTPResponse:
    """The answer; its body is read by now, so that the next request can follow."""
    connection.request(method, path, headers=more)
    answer = connection.getresponse()
    answer.body = answer.read()  # type: ignore[attr-defined]
    return answer


def exchange(service: Service, *parts: bytes, pause: float = 0.0) -> bytes:
    """All that comes back for these parts until the service closes."""
    with socket.create_connection(("127.0.0.1", service.port), timeout=30) as plain:
        for part in parts:
            plain.sendall(part)
            time.sleep(pause)
        return plain.makefile("rb").read()


def last(request: bytes) -> bytes:
    return request.replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n", 1)


def test_requests_follow_each_other_over_one_connection(connection):
    for _ in range(3):
        answer = asked(connection, "GET", "/livez")
        assert (answer.status, answer.getheader("Connection")) == (200, "keep-alive")
    connection.request("POST", "/v1/suggestions", json.dumps(SITUATION), {"Content-Type": "application/json"})
    assert json.loads(connection.getresponse().read())["moment"] == SITUATION["moment"]


def test_a_session_of_requests_keeps_its_connection(service):
    with requests.Session() as session:
        for _ in range(3):
            assert session.get(f"{service.address}/livez", timeout=30).text.encode() == ALIVE
        pools = session.get_adapter(service.address).poolmanager.pools  # type: ignore[attr-defined]
        assert [(pools[key].num_connections, pools[key].num_requests) for key in pools.keys()] == [(1, 3)]  # noqa: SIM118


def test_who_asks_to_close_is_let_go(connection):
    assert asked(connection, "GET", "/livez", Connection="close").getheader("Connection") == "close"
    with pytest.raises(http.client.NotConnected):
        asked(connection, "GET", "/livez")


@pytest.mark.parametrize(("header", "kept"), [(b"", False), (b"Connection: keep-alive\r\n", True)])
def test_http_1_0_is_kept_only_if_it_asks(service, header, kept):
    once = b"GET /livez HTTP/1.0\r\n" + header + b"\r\n"
    told = exchange(service, once, last(GET)) if kept else exchange(service, once)
    assert told.count(ALIVE) == 1 + kept
    assert told.endswith(ALIVE)


def test_answers_without_a_body_end_where_the_next_begins(connection, service):
    head = asked(connection, "HEAD", "/v1/vocabulary")
    assert (head.status, head.body) == (200, b"")  # type: ignore[attr-defined]
    tag = str(head.getheader("ETag"))
    assert asked(connection, "GET", "/v1/vocabulary", **{"If-None-Match": tag}).status == 304
    player = service.made("/v1/players", {"side": "own", "label": "x"})["id"]
    gone = asked(connection, "DELETE", f"/v1/players/{player}")
    assert (gone.status, gone.getheader("Content-Length")) == (204, None)
    assert asked(connection, "GET", "/livez").body == ALIVE  # type: ignore[attr-defined]


def test_a_refusal_of_a_whole_request_keeps_the_connection(connection):
    assert asked(connection, "GET", "/nowhere").status == 404
    for body, status in ((b"{" * 50, 400), (b"{}", 422), (b'{"moment": "now"}', 422)):
        connection.request("POST", "/v1/suggestions", body, {"Content-Type": "application/json"})
        answer = connection.getresponse()
        assert answer.read()
        assert answer.status == status
    assert asked(connection, "GET", "/livez").status == 200


def test_what_is_no_http_ends_the_connection(service):
    told = exchange(service, GET, b"GET / HTTP/9.9\r\n\r\n", GET, pause=0.2)
    assert told.count(b"HTTP/1.1 ") == 2
    assert b"HTTP/1.1 400 " in told


def test_requests_sent_at_once_are_answered_in_turn(service):
    body = json.dumps(SITUATION).encode()
    length = POST + f"Content-Length: {len(body)}\r\n\r\n".encode() + body
    chunks = POST + b"Transfer-Encoding: chunked\r\n\r\n" + f"{len(body):x}\r\n".encode() + body + b"\r\n0\r\n\r\n"
    told = exchange(service, GET + length + chunks + GET + last(GET))
    assert [part[:3] for part in told.split(b"HTTP/1.1 ")[1:]] == [b"200"] * 5
    assert told.count(ALIVE) == 3


@pytest.mark.parametrize("cut", [5, len(POST), len(POST) + 25, len(POST) + 30])
def test_a_request_may_come_in_parts_behind_another(service, cut):
    body = json.dumps(SITUATION).encode()
    request = last(POST + b"Transfer-Encoding: chunked\r\n\r\n" + f"{len(body):X};a=b\r\n".encode()) + body
    request += b"\r\n0\r\nX-End: 1\r\n\r\n"
    told = exchange(service, GET + request[:cut], request[cut:], pause=0.3)
    assert [part[:3] for part in told.split(b"HTTP/1.1 ")[1:]] == [b"200"] * 2


def test_a_client_that_waits_to_be_asked_for_its_body_is_asked(service):
    body = json.dumps(SITUATION).encode()
    head = POST + f"Expect: 100-continue\r\nConnection: close\r\nContent-Length: {len(body)}\r\n\r\n".encode()
    with socket.create_connection(("127.0.0.1", service.port), timeout=30) as plain:
        plain.sendall(head)
        assert plain.recv(100) == b"HTTP/1.1 100 Continue\r\n\r\n"
        plain.sendall(body)
        assert plain.makefile("rb").read().startswith(b"HTTP/1.1 200 ")


def test_a_body_that_is_too_large_is_refused_before_it_is_sent(service):
    told = exchange(service, POST + b"Content-Length: 2000000\r\n\r\n{")
    assert told.startswith(b"HTTP/1.1 413 ")
    assert b"\r\nConnection: close\r\n" in told


def test_an_import_may_be_longer_and_is_read_whole(service):
    sent, lines = f"http://127.0.0.1:{service.port}/v1/club/import", {"Content-Type": "application/x-ndjson"}
    told = requests.post(sent, data=b"{}\n" * 1_000_000, headers=lines, timeout=60)
    assert (told.status_code, told.json()["errors"][0]["pointer"]) == (422, "/line/1")
    head = b"POST /v1/club/import HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/x-ndjson\r\n"
    assert exchange(service, head + b"Content-Length: 9000000\r\n\r\n{").startswith(b"HTTP/1.1 413 ")


def test_idle_and_half_sent_connections_keep_nobody_waiting(service):
    with ExitStack() as held:
        for sent in [GET] * 10 + [GET[:20]] * 5 + [POST + b"Content-Length: 9\r\n\r\n{"] * 5:
            held.enter_context(socket.create_connection(("127.0.0.1", service.port))).sendall(sent)
        start = time.monotonic()
        assert service.get("/livez").status_code == 200
        assert time.monotonic() - start < 1.5  # the half-sent ones have two seconds


def test_who_does_not_read_a_long_answer_keeps_nobody_waiting(service):
    with socket.socket() as unread:
        unread.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        unread.connect(("127.0.0.1", service.port))
        unread.sendall(b"GET /openapi.json HTTP/1.1\r\nHost: x\r\n\r\n" * 40)
        assert service.get("/livez").status_code == 200


def test_a_long_export_leaves_as_it_is_taken_and_keeps_nobody_waiting(service):
    match = service.match()
    line = json.dumps({"what": "rally.forehand_errors", "count": 2, "of": 8, "note": "a note " * 50})
    sent = {"data": "\n".join([line] * 2_000), "headers": {"Content-Type": "application/x-ndjson"}}
    assert requests.post(f"{service.address}{match}/observations", timeout=60, **sent).status_code == 200
    with closing(slow(service)) as connection:
        connection.request("GET", "/v1/club/export", headers={"Accept": "application/x-ndjson"})
        assert service.get("/livez").status_code == 200
        rows = connection.getresponse().read().splitlines()
        assert json.loads(rows[-1])["rows"] == len(rows) - 2 >= 2_000


def slow(service: Service) -> HTTPConnection:
    """A connection whose client takes little at a time."""
    plain = socket.socket()
    plain.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    plain.settimeout(60)
    plain.connect(("127.0.0.1", service.port))
    connection = HTTPConnection("127.0.0.1", service.port)
    connection.sock = plain
    connection.auto_open = 0
    return connection


def test_more_connections_than_are_kept_close_the_one_that_is_idle_longest(service):
    with ExitStack() as held:
        idle = [held.enter_context(socket.create_connection(("127.0.0.1", service.port), 30)) for _ in range(80)]
        for one in idle:
            one.sendall(GET)
            assert ALIVE in one.recv(65536)
        assert idle[0].recv(1) == b""
        idle[-1].sendall(last(GET))
        assert idle[-1].makefile("rb").read().endswith(ALIVE)


def test_a_stop_closes_idle_connections_and_answers_what_has_arrived(tmp_path):
    with running(tmp_path) as service, ExitStack() as held:
        idle, half = (held.enter_context(socket.create_connection(("127.0.0.1", service.port), 30)) for _ in range(2))
        idle.sendall(GET)
        assert ALIVE in idle.recv(65536)
        half.sendall(GET[:-2])
        assert until(lambda: service.get("/livez"))
        start = time.monotonic()
        service.process.terminate()
        assert idle.recv(1) == b""
        half.sendall(GET[-2:])
        told = half.makefile("rb").read()
        assert b"\r\nConnection: close\r\n" in told
        assert told.endswith(ALIVE)
        assert service.process.wait(30) == 0
        assert time.monotonic() - start < 10
