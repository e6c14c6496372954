"""A gunicorn worker that handles one request at a time and never waits for a client.

gunicorn parses requests. If it refuses a request (not HTTP, too long, an unknown expectation), the response is also a
problem document. A single thread and selector receive requests, send responses and keep idle connections; a request is
handled once it has arrived completely.

A guard process beside each worker responds if the worker dies in a request. The rule matcher is a C extension: if it
crashes or hangs, none of the worker's code runs any more, and its client would see a broken connection. So the worker
lends each client's socket to its guard until it begins to respond. When a worker dies, its connection to the guard
breaks; the guard then tells the client that it can repeat the request.
"""

import contextlib
import gc
import json
import logging
import mmap
import os
import selectors
import signal
import socket
import time
import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping
from enum import Enum
from http import HTTPStatus
from types import MappingProxyType
from typing import Any

from gunicorn.glogging import Logger
from gunicorn.http import RequestParser, errors, wsgi
from gunicorn.util import close_graceful
from gunicorn.workers.base import Worker

from tacticapi import settings
from tacticapi.api.http.bodies import IMPORT_PATH, MAX_BODY, MAX_IMPORT
from tacticapi.api.http.metrics import Metrics, count_in
from tacticapi.api.http.middleware import REQUEST_ID, SAFE_HEADERS
from tacticapi.api.http.problems import MEDIA_TYPE, WORKER_LOST, Problem, problem_body, problem_of, shortened

FREE, HELD, KEPT = range(3)
IGNORED = (signal.SIGINT, signal.SIGTERM, signal.SIGQUIT, signal.SIGHUP, signal.SIGUSR1, signal.SIGUSR2)
MAX_DESCRIPTORS = 1 << 20
PATIENCE_S = 5.0


class Guard:
    """A guard process, which ends with the process that created it. It calls `lost` to get the response.

    Both processes share each client's state in shared memory, by socket number; only the socket itself is sent. Lending
    the same number again replaces the earlier client.
    """

    def __init__(self, lost: Callable[[], bytes]) -> None:
        """Fork the guard. Do this before the process has anything that must not be shared with a forked child."""
        self._standing = mmap.mmap(-1, MAX_DESCRIPTORS)
        self._line, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        self._held: int | None = None
        if os.fork() == 0:
            try:
                self._line.detach()
                _stand_by(theirs, self._standing, lost)
            finally:
                os._exit(0)
        theirs.close()

    def hold(self, client: socket.socket) -> None:
        """Let the guard answer this client if this process dies from now on."""
        self._held = number = client.fileno()
        if self._standing[number] == FREE:
            with contextlib.suppress(OSError):  # go on without a guard that was killed
                socket.send_fds(self._line, [number.to_bytes(4)], [number])
        self._standing[number] = HELD

    def let_go(self, *, keep: bool = False) -> None:
        """Release a client that has its response or has left. If kept, the guard still answers its next request."""
        if self._held is not None:
            self._standing[self._held] = KEPT if keep else FREE
        self._held = None

    def forget(self, client: socket.socket) -> None:
        """Release a client whose connection will be closed."""
        self._standing[client.fileno()] = FREE


def _stand_by(line: socket.socket, standing: mmap.mmap, lost: Callable[[], bytes]) -> None:
    for stop in IGNORED:
        signal.signal(stop, signal.SIG_IGN)
    signal.set_wakeup_fd(-1)
    os.closerange(3, line.fileno())
    os.closerange(line.fileno() + 1, MAX_DESCRIPTORS)
    lent: dict[int, socket.socket] = {}
    while True:
        message, descriptors, _, _ = socket.recv_fds(line, 4, 1)
        if not message:
            break
        number = int.from_bytes(message)
        if number in lent:
            lent[number].close()
        lent[number] = socket.socket(fileno=descriptors[0])
    for number, client in lent.items():
        if standing[number] == HELD or (standing[number] == KEPT and _has_sent(client)):
            _answer(client, lost())


def _has_sent(client: socket.socket) -> bool:
    try:
        return bool(client.recv(1, socket.MSG_PEEK | socket.MSG_DONTWAIT))
    except OSError:
        return False


def _answer(client: socket.socket, answer: bytes) -> None:
    client.settimeout(PATIENCE_S)
    with contextlib.suppress(OSError):
        client.sendall(answer)
    close_graceful(client)


ANSWER_S = 20.0  # time for a client to receive its response
KEPT_S = 30.0  # time for which an idle connection is kept open
LEAVING_S = 2.0  # time for a client to hang up after its last response
MAX_OPEN = 64  # connections per worker
PART = 1 << 16  # bytes
MAX_HELD = 16 * MAX_BODY  # bytes of all clients' unfinished requests together
CONTINUE = b"HTTP/1.1 100 Continue\r\n\r\n"


class Phase(Enum):
    """The state of a connection: waiting for a request, reading one, sending the response, or closing."""

    IDLE = "idle"
    ARRIVING = "arriving"
    SENDING = "sending"
    LEAVING = "leaving"


class Client:
    """A non-blocking connection, which gunicorn's responses use as their socket."""

    def __init__(self, connection: socket.socket, address: Any, server: Any, seconds: float) -> None:
        """Accept a connection whose first request must arrive within this many seconds."""
        connection.setblocking(False)
        self.socket, self.address, self.server = connection, address, server
        self.request: Any = None
        self.kept = True
        self._parser: Any = None
        self._response: Any = None
        self._parts: Any = None  # as returned by the application
        self._left: Iterator[bytes] = iter(())
        self.arrived, self._unsent = bytearray(), bytearray()
        self._chunk = 0  # where the next chunk of the body begins
        self.wait(Phase.ARRIVING, seconds)

    def wait(self, phase: Phase, seconds: float) -> None:
        """Enter a phase that lasts at most this long."""
        self.phase, self.deadline = phase, time.monotonic() + seconds

    def receive(self) -> bool:
        """Read what has arrived. Returns False if the client is gone; raises OSError if the connection broke."""
        try:
            part = self.socket.recv(PART)
        except BlockingIOError:
            return True
        if self.phase is not Phase.LEAVING:
            self.arrived += part
        return bool(part)

    def has_head(self, cfg: Any) -> bool:
        """Parse the request head when complete; return whether it is. Raises gunicorn's errors if it is not HTTP."""
        if self.request is None:
            self._parser = RequestParser(cfg, [bytes(self.arrived)], self.address)
            try:
                self.request = next(self._parser)
            except (StopIteration, errors.NoMoreData):
                return False
            self.arrived, self._chunk = bytearray(self._parser.unreader.take_buffered()), 0
            # gunicorn would send this only after the body, which the client holds back
            if self.request._expected_100_continue and not self.has_body():
                self.sendall(CONTINUE)
                self.flush()
        return True

    def has_body(self) -> bool:
        """Return whether the body has arrived, or enough of it to refuse it."""
        reader = self.request.body.reader
        length = getattr(reader, "length", None)
        return len(self.arrived) >= length if length is not None else self._has_last_chunk()

    def has_too_much(self) -> bool:
        """Return whether the body will be refused regardless of the rest."""
        length = getattr(self.request.body.reader, "length", 0)
        most = MAX_IMPORT if self.request.path == IMPORT_PATH else MAX_BODY
        return length > most or len(self.arrived) > 2 * most

    def _has_last_chunk(self) -> bool:
        """Look for the end of a chunked body. An error counts as the end, so that gunicorn reports it."""
        while (end := self.arrived.find(b"\r\n", self._chunk)) >= 0:
            size = bytes(self.arrived[self._chunk : end]).partition(b";")[0].strip()
            if not size.isalnum() or size.strip(b"0123456789abcdefABCDEF"):
                return True
            if not int(size, 16):
                return self.arrived.find(b"\r\n\r\n", end) >= 0
            self._chunk = end + 2 + int(size, 16) + 2
        return len(self.arrived) - self._chunk > PART

    def give_body(self) -> None:
        """Give the received data to the request."""
        self._parser.unreader.unread(bytes(self.arrived))
        self.arrived.clear()

    def answer(self, response: Any, parts: Iterable[bytes]) -> None:
        """Start the response. Its parts are produced as they are sent."""
        self._response, self._parts = response, parts
        self._left = iter(parts)
        self.produce()

    @property
    def unfinished(self) -> bool:
        """Return whether parts of the response are still to be produced."""
        return self._parts is not None

    def produce(self) -> None:
        """Produce the next parts of the response. After the last part, any further data belongs to the next request."""
        for part in self._left:
            self._response.write(part)
            if len(self._unsent) >= PART:
                return
        self._response.close()
        self._end_parts()
        self.kept = not self._response.should_close() and self._parser.finish_body()
        self.arrived = bytearray(self._parser.unreader.take_buffered())
        self.request = None

    def _end_parts(self) -> None:
        parts, self._parts = self._parts, None
        if hasattr(parts, "close"):
            parts.close()

    def fail(self, answer: bytes) -> None:
        """Replace the response with this one and close."""
        self._end_parts()
        self._unsent, self.kept = bytearray(answer), False

    def send(self, data: bytes) -> int:
        """Discard gunicorn's own "100 Continue", because the body has already arrived."""
        return len(data)

    def sendall(self, data: bytes) -> None:
        """Add to the response; `flush` sends it."""
        self._unsent += data

    def flush(self) -> bool:
        """Send as much as the client accepts. Returns whether all was sent; raises OSError if the client is gone."""
        try:
            while self._unsent:
                del self._unsent[: self.socket.send(self._unsent)]
        except BlockingIOError:
            return False
        return True

    def leave(self) -> None:
        """End the output and let the client close the connection first, so that it receives the whole response."""
        self.arrived.clear()
        with contextlib.suppress(OSError):
            self.socket.shutdown(socket.SHUT_WR)
        self.wait(Phase.LEAVING, LEAVING_S)

    def close(self) -> None:
        """Close the connection."""
        self._end_parts()
        with contextlib.suppress(OSError):
            self.socket.shutdown(socket.SHUT_RDWR)  # the guard may hold it too
        self.socket.close()


STATUS_OF: dict[type[BaseException], int] = {  # of gunicorn errors that name none; the others get 400
    errors.LimitRequestLine: 414,
    errors.ExpectationFailed: 417,
    errors.LimitRequestHeaders: 431,
    errors.InvalidResponseHeader: 500,
    errors.InvalidResponseHeaderName: 500,
}
YOUNG = 10_000  # new objects between two collections; a request makes a few thousand and leaves none
MAX_WAIT_S = 30  # browsers give up an unused connection after about ten seconds (from memory)


def take_begun_requests_only(listener: Any) -> None:
    """Let the kernel hold a TCP listener's silent connections, if it can (Linux); otherwise change nothing."""
    option = getattr(socket, "TCP_DEFER_ACCEPT", None)
    if option is not None and listener.family in (socket.AF_INET, socket.AF_INET6):
        listener.setsockopt(socket.IPPROTO_TCP, option, MAX_WAIT_S)


log = logging.getLogger(__name__)


class ServerLog(Logger):
    """gunicorn's log, forwarded to the process's log."""

    def setup(self, cfg: Any) -> None:
        """Use gunicorn's level, without its own output."""
        self.cfg = cfg
        self._access_log_enabled = False
        self.loglevel = self.LOG_LEVELS[cfg.loglevel]
        self.error_log.setLevel(self.loglevel)
        self.error_log.propagate = True


class ProblemWorker(Worker):
    """A worker that handles one complete request after another; incomplete ones arrive in the meantime.

    A connection is kept for the client's next request unless another client waits for this worker; the client then
    reconnects, perhaps to a free worker.
    """

    slot = 0
    log: Any
    sockets: Any
    wsgi: Any

    def init_process(self) -> None:
        """Start the guard, then accept requests."""
        self._guard = Guard(lost_answer)
        self._arrival = float(settings.ARRIVAL.read())
        self._selector = selectors.DefaultSelector()
        self._clients: list[Client] = []
        self._behind: list[Client] = []  # clients that sent more than the handled request
        super().init_process()

    def load_wsgi(self) -> None:
        """Load the application."""
        super().load_wsgi()
        gc.collect()
        gc.freeze()  # rules and code live as long as the process, so exclude them from garbage collection
        gc.set_threshold(YOUNG)

    def run(self) -> None:
        """Serve until asked to stop, then handle the requests that have arrived and close idle connections."""
        for listener in self.sockets:
            take_begun_requests_only(listener)
            listener.setblocking(False)
            self._selector.register(listener, selectors.EVENT_READ)
        self._selector.register(self.PIPE[0], selectors.EVENT_READ)
        while self.alive and self.ppid == os.getppid():
            self._turn(self.timeout)
        for listener in self.sockets:
            self._selector.unregister(listener)
        self._turn(0.0)
        for client in [*self._clients]:
            if client.phase is Phase.IDLE:
                self._drop(client)
            elif client.phase is Phase.ARRIVING:
                client.wait(Phase.ARRIVING, LEAVING_S)
        while self._clients:
            self._turn(LEAVING_S)

    def _turn(self, seconds: float) -> None:
        """Wait at most this long for events, and move each connection that has one forward by one step."""
        self.notify()
        behind, self._behind = self._behind, []
        ends = min((client.deadline - time.monotonic() for client in self._clients), default=seconds)
        for key, _ in self._selector.select(0.0 if behind else max(0.0, min(seconds, ends))):
            if key.data is not None:
                self._go_on(key.data)
            elif key.fileobj == self.PIPE[0]:
                os.read(self.PIPE[0], PART)
            elif self.alive:
                self._accept(key.fileobj)
        for client in behind:
            if client.phase is Phase.IDLE and client in self._clients:
                self._take(client)
        for client in [client for client in self._clients if client.deadline <= time.monotonic()]:
            self._drop(client)

    def _accept(self, listener: Any) -> None:
        try:
            connection, address = listener.accept()
        except (BlockingIOError, ConnectionAbortedError):  # another worker was faster, or the client is gone
            return
        if len(self._clients) >= MAX_OPEN:
            self._drop(min(self._clients, key=lambda client: (client.phase is not Phase.IDLE, client.deadline)))
        client = Client(connection, address, listener.getsockname(), self._arrival)
        self._clients.append(client)
        self._selector.register(connection, selectors.EVENT_READ, client)
        self._go_on(client)

    def _drop(self, client: Client) -> None:
        if client in self._clients:
            self._guard.forget(client.socket)
            self._clients.remove(client)
            self._selector.unregister(client.socket)
            client.close()

    def _go_on(self, client: Client) -> None:
        if client not in self._clients:  # dropped to make room for another one
            return
        try:
            if client.phase is Phase.SENDING:
                self._send(client)
            elif not client.receive():
                self._drop(client)
            elif client.arrived:
                self._take(client)
        except OSError:
            self._drop(client)

    def _take(self, client: Client) -> None:
        """Handle this client's request if it is complete, else wait for the rest."""
        if client.phase is Phase.IDLE:
            client.wait(Phase.ARRIVING, self._arrival)
        try:
            whole = client.has_head(self.cfg) and client.has_body()
            if not whole and not (client.request and client.has_too_much()):
                endless = client.request is None and len(client.arrived) > MAX_BODY  # gunicorn permits a head of 0.8 MB
                if endless or sum(len(one.arrived) for one in self._clients) > MAX_HELD:
                    self._drop(client)
                return
            self._answer(client, whole)
        except BaseException as error:
            self._fail(client, error)
        finally:
            self._guard.let_go()
        self._send(client)

    def _answer(self, client: Client, whole: bool) -> None:
        self._guard.hold(client.socket)
        client.give_body()
        response, environ = wsgi.create(client.request, client, client.address, client.server, self.cfg)
        self.nr += 1
        if self.nr >= self.max_requests:
            log.info("this worker is replaced after its maximum number of requests")
            self.alive = False
        if not whole or not self.alive or (not client.request.should_close() and self._others_wait(client)):
            response.force_close()
        parts = self.wsgi(environ, response.start_response)
        self._guard.let_go(keep=not response.should_close())
        client.answer(response, parts)

    def _others_wait(self, client: Client) -> bool:
        """Return whether another client has sent something that this worker has not read yet."""
        return bool(self._behind) or any(
            key.data is not client
            and key.fileobj != self.PIPE[0]
            and (key.data is None or key.data.phase is not Phase.LEAVING)
            for key, _ in self._selector.select(0.0)
        )

    def _send(self, client: Client) -> None:
        """Send as much of the response as is produced and accepted, then wait for the next event."""
        try:
            sent = client.flush()
            if sent and client.unfinished:
                client.wait(Phase.SENDING, ANSWER_S)
                client.produce()
                sent = client.flush() and not client.unfinished
        except OSError:
            self._drop(client)
            return
        except (Exception, SystemExit) as error:
            log.error("a response was cut off", exc_info=error)
            self._drop(client)
            return
        event = selectors.EVENT_READ if sent else selectors.EVENT_WRITE
        self._selector.modify(client.socket, event, client)
        if not sent:
            if client.phase is not Phase.SENDING:
                client.wait(Phase.SENDING, ANSWER_S)
        elif client.kept and self.alive:
            client.wait(Phase.IDLE, KEPT_S)
            if client.arrived:
                self._behind.append(client)
        else:
            client.leave()

    def _fail(self, client: Client, error: BaseException) -> None:
        """Respond to a request that gunicorn refused or the application failed on, and log it without quoting it."""
        self._guard.let_go()
        if isinstance(error, SystemExit):  # stopped by the master for taking too long
            client.fail(lost_answer(in_this_slot=True))
            return
        refused, answer_id = isinstance(error, errors.ParseException), uuid.uuid4().hex
        status = STATUS_OF.get(type(error), getattr(error, "code", HTTPStatus.BAD_REQUEST)) if refused else 500
        told = {"status": status, "reason": type(error).__name__, "request_id": answer_id}
        if status < HTTPStatus.INTERNAL_SERVER_ERROR:
            log.info("refused before it was a valid request", extra=told)
        else:
            log.error("failed before it was answered", exc_info=error, extra=told)
        detail = str(error) if status < HTTPStatus.INTERNAL_SERVER_ERROR else None
        client.fail(problem_answer(problem_of(status), detail, answer_id))


def lost_answer(*, in_this_slot: bool = False) -> bytes:
    """Log and count a request that was lost with its worker, and return its response. The guard has its own slot."""
    if not in_this_slot:
        count_in(f"guard-{os.getpid()}")
    Metrics().lost.inc()
    answer_id = uuid.uuid4().hex
    log.error("a worker died during a request", extra={"request_id": answer_id})
    return problem_answer(WORKER_LOST, None, answer_id, {"Retry-After": "1"})


def problem_answer(
    problem: Problem, detail: str | None, request_id: str, more: Mapping[str, str] = MappingProxyType({})
) -> bytes:
    """Return a complete HTTP response with the problem. It closes the connection."""
    body = problem_body(problem, shortened(detail), ())
    text = json.dumps(body, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
    headers = {
        "Connection": "close",
        "Content-Type": MEDIA_TYPE,
        "Content-Length": len(text),
        REQUEST_ID: request_id,
        **SAFE_HEADERS,
        **more,
    }
    status = HTTPStatus(problem.status)
    lines = [f"HTTP/1.1 {status.value} {status.phrase}", *(f"{name}: {value}" for name, value in headers.items())]
    return "\r\n".join([*lines, "", ""]).encode("ascii") + text
