"""A worker for gunicorn that answers one request at a time and waits for no client.

gunicorn parses, and what it refuses (no HTTP, too long, an unknown expectation) is a problem document too. One thread
does all: requests arrive, answers leave and kept connections idle in one selector, and a request is worked on once
it is whole.

A guard beside each worker answers for it if it dies in the middle of a request. The rule matcher is a C extension: if
it crashes or hangs, no line of the worker runs any more, and its client would see the connection break. So the worker
lends each client's socket to its guard until it begins to answer. The guard sees that the worker is gone when their
line breaks, and tells the client in its place that a repeat will be answered.
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
from gunicorn.http import RequestParser, wsgi
from gunicorn.http.errors import NoMoreData
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
    """The guard of the process that makes it, and ends with it. `lost` runs in the guard and returns the answer.

    Both see in shared memory how it stands with each client, by the number of its socket: only the socket itself is
    sent. A number that is lent again ends what it stood for before.
    """

    def __init__(self, lost: Callable[[], bytes]) -> None:
        """Start the guard: a fork, so make it before the process has anything that must not be in two of them."""
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
        """Answer this client if this process dies from now on."""
        self._held = number = client.fileno()
        if self._standing[number] == FREE:
            with contextlib.suppress(OSError):  # a guard that was killed is done without
                socket.send_fds(self._line, [number.to_bytes(4)], [number])
        self._standing[number] = HELD

    def let_go(self, *, keep: bool = False) -> None:
        """Release the client, who is answered or gone. A kept one is answered if its next request waits unread."""
        if self._held is not None:
            self._standing[self._held] = KEPT if keep else FREE
        self._held = None

    def forget(self, client: socket.socket) -> None:
        """Let go of a client that will be closed."""
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


ANSWER_S = 20.0  # in which a client must take its answer
KEPT_S = 30.0  # for which a connection is kept for the next request
LEAVING_S = 2.0  # in which a client that was answered for the last time should hang up
MAX_OPEN = 64  # connections of one worker
PART = 1 << 16  # bytes
MAX_HELD = 16 * MAX_BODY  # bytes of unfinished requests of all clients together
CONTINUE = b"HTTP/1.1 100 Continue\r\n\r\n"


class Phase(Enum):
    """What a connection waits for: the next request, the rest of one, its answer to be taken, or the client to go."""

    IDLE = "idle"
    ARRIVING = "arriving"
    SENDING = "sending"
    LEAVING = "leaving"


class Client:
    """A connection that is read and written without waiting; for gunicorn's answers it is their socket."""

    def __init__(self, connection: socket.socket, address: Any, server: Any, seconds: float) -> None:
        """Take up a connection whose first request has this many seconds to arrive."""
        connection.setblocking(False)
        self.socket, self.address, self.server = connection, address, server
        self.request: Any = None
        self.kept = True
        self._parser: Any = None
        self._response: Any = None
        self._parts: Any = None  # as the application gave them
        self._left: Iterator[bytes] = iter(())
        self.arrived, self._unsent = bytearray(), bytearray()
        self._chunk = 0  # where the next chunk of the body begins
        self.wait(Phase.ARRIVING, seconds)

    def wait(self, phase: Phase, seconds: float) -> None:
        """Enter a phase that lasts this long at most."""
        self.phase, self.deadline = phase, time.monotonic() + seconds

    def receive(self) -> bool:
        """Take what has come. Returns whether the client is still there; raises OSError if the connection broke."""
        try:
            part = self.socket.recv(PART)
        except BlockingIOError:
            return True
        if self.phase is not Phase.LEAVING:
            self.arrived += part
        return bool(part)

    def has_head(self, cfg: Any) -> bool:
        """Return whether the head of a request is here, and parse it. Raises what gunicorn does if it is no HTTP."""
        if self.request is None:
            self._parser = RequestParser(cfg, [bytes(self.arrived)], self.address)
            try:
                self.request = next(self._parser)
            except (StopIteration, NoMoreData):
                return False
            self.arrived, self._chunk = bytearray(self._parser.unreader.take_buffered()), 0
            # an answer of gunicorn's own comes after the body, which is what a client waits with
            if self.request._expected_100_continue and not self.has_body():
                self.sendall(CONTINUE)
                self.flush()
        return True

    def has_body(self) -> bool:
        """Return whether the body is here, or so much of it that its end does not matter."""
        reader = self.request.body.reader
        length = getattr(reader, "length", None)
        return len(self.arrived) >= length if length is not None else self._has_last_chunk()

    def has_too_much(self) -> bool:
        """Return whether the body will be refused whatever else comes."""
        length = getattr(self.request.body.reader, "length", 0)
        most = MAX_IMPORT if self.request.path == IMPORT_PATH else MAX_BODY
        return length > most or len(self.arrived) > 2 * most

    def _has_last_chunk(self) -> bool:
        """Look for the end of a body in chunks. A fault counts as one, for gunicorn to tell."""
        while (end := self.arrived.find(b"\r\n", self._chunk)) >= 0:
            size = bytes(self.arrived[self._chunk : end]).partition(b";")[0].strip()
            if not size.isalnum() or size.strip(b"0123456789abcdefABCDEF"):
                return True
            if not int(size, 16):
                return self.arrived.find(b"\r\n\r\n", end) >= 0
            self._chunk = end + 2 + int(size, 16) + 2
        return len(self.arrived) - self._chunk > PART

    def give_body(self) -> None:
        """Let the request read what has arrived."""
        self._parser.unreader.unread(bytes(self.arrived))
        self.arrived.clear()

    def answer(self, response: Any, parts: Iterable[bytes]) -> None:
        """Take up the answer to the request; its parts are made as they are sent."""
        self._response, self._parts = response, parts
        self._left = iter(parts)
        self.produce()

    @property
    def unfinished(self) -> bool:
        """Return whether parts of the answer are still to be made."""
        return self._parts is not None

    def produce(self) -> None:
        """Make the next parts of the answer. After the last, what was sent behind the request belongs to the next."""
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
        """Answer with this in place of anything else, and close."""
        self._end_parts()
        self._unsent, self.kept = bytearray(answer), False

    def send(self, data: bytes) -> int:
        """Leave out gunicorn's own "100 Continue", for the body is here by then."""
        return len(data)

    def sendall(self, data: bytes) -> None:
        """Add to the answer; `flush` sends it."""
        self._unsent += data

    def flush(self) -> bool:
        """Send what the client takes. Returns whether that is all; raises OSError if it is gone."""
        try:
            while self._unsent:
                del self._unsent[: self.socket.send(self._unsent)]
        except BlockingIOError:
            return False
        return True

    def leave(self) -> None:
        """Say that nothing more will come, and let the client hang up first, lest it loses the end of its answer."""
        self.arrived.clear()
        with contextlib.suppress(OSError):
            self.socket.shutdown(socket.SHUT_WR)
        self.wait(Phase.LEAVING, LEAVING_S)

    def close(self) -> None:
        """Hang up."""
        self._end_parts()
        with contextlib.suppress(OSError):
            self.socket.shutdown(socket.SHUT_RDWR)  # the guard may hold it too
        self.socket.close()


YOUNG = 10_000  # new objects between two collections; one request makes a few thousand and leaves none
MAX_WAIT_S = 30  # browsers give up an unused connection after about ten seconds (from memory)


def take_begun_requests_only(listener: Any) -> None:
    """Let the kernel keep silent connections of a TCP listener, where it can (Linux); elsewhere nothing changes."""
    option = getattr(socket, "TCP_DEFER_ACCEPT", None)
    if option is not None and listener.family in (socket.AF_INET, socket.AF_INET6):
        listener.setsockopt(socket.IPPROTO_TCP, option, MAX_WAIT_S)


log = logging.getLogger(__name__)


class ServerLog(Logger):
    """gunicorn's log, sent on to where all else of the process goes."""

    def setup(self, cfg: Any) -> None:
        """Take over gunicorn's level; keep no output of its own."""
        self.cfg = cfg
        self._access_log_enabled = False
        self.loglevel = self.LOG_LEVELS[cfg.loglevel]
        self.error_log.setLevel(self.loglevel)
        self.error_log.propagate = True


class ProblemWorker(Worker):
    """Answers one whole request after the other, and waits for none: what is not whole yet arrives meanwhile.

    A connection is kept for the client's next request unless somebody else waits for this worker: then the client
    connects again, perhaps to a worker that is free.
    """

    slot = 0
    log: Any
    sockets: Any
    wsgi: Any

    def init_process(self) -> None:
        """Start the guard, then take requests."""
        self._guard = Guard(lost_answer)
        self._arrival = float(settings.ARRIVAL.read())
        self._selector = selectors.DefaultSelector()
        self._clients: list[Client] = []
        self._behind: list[Client] = []  # that sent more than the request that was answered
        super().init_process()

    def load_wsgi(self) -> None:
        """Load the application."""
        super().load_wsgi()
        gc.collect()
        gc.freeze()  # rules and code live as long as the process, so no collection looks through them again
        gc.set_threshold(YOUNG)

    def run(self) -> None:
        """Serve until told to stop; then answer what has arrived, and close what is idle."""
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
        """Wait at most this long for something to come; go one step on with each connection that something came of."""
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
        except (BlockingIOError, ConnectionAbortedError):  # another worker was quicker, or the client is gone
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
        """Take what has come from a client, or send what it takes."""
        if client not in self._clients:  # it made room for another one
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
        """Answer the request of this client if it is whole, else wait for the rest."""
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
            self.handle_error(client.request, client, client.address, error)
        finally:
            self._guard.let_go()
        self._send(client)

    def _answer(self, client: Client, whole: bool) -> None:
        self._guard.hold(client.socket)
        client.give_body()
        response, environ = wsgi.create(client.request, client, client.address, client.server, self.cfg)
        self.nr += 1
        if self.nr >= self.max_requests:
            log.info("this worker is replaced after its share of requests")
            self.alive = False
        if not whole or not self.alive or (not client.request.should_close() and self._others_wait(client)):
            response.force_close()
        parts = self.wsgi(environ, response.start_response)
        self._guard.let_go(keep=not response.should_close())
        client.answer(response, parts)

    def _others_wait(self, client: Client) -> bool:
        """Return whether anybody else has sent something to this worker that it has not looked at yet."""
        return bool(self._behind) or any(
            key.data is not client
            and key.fileobj != self.PIPE[0]
            and (key.data is None or key.data.phase is not Phase.LEAVING)
            for key, _ in self._selector.select(0.0)
        )

    def _send(self, client: Client) -> None:
        """Send the answer as far as it is made and the client takes it, then wait for what comes next."""
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
            log.error("an answer broke off", exc_info=error)
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

    def handle_error(self, req: Any, client: Any, addr: Any, exc: BaseException) -> None:
        """Let gunicorn judge the fault, then tell and log it in our way: its own log quotes address and request."""
        self._guard.let_go()
        if isinstance(exc, SystemExit):  # stopped by the master, since it worked on this for too long
            client.fail(lost_answer(in_this_slot=True))
            return
        judged, own_log, self.log = _Judgement(), self.log, _MutedLog()
        try:
            super().handle_error(req, judged, addr, exc)
        finally:
            self.log = own_log
        answer_id = uuid.uuid4().hex
        told = {"status": judged.status, "reason": type(exc).__name__, "request_id": answer_id}
        if judged.status < HTTPStatus.INTERNAL_SERVER_ERROR:
            log.info("refused before it was a request", extra=told)
        else:
            log.error("failed before it was answered", exc_info=exc, extra=told)
        detail = str(exc) if judged.status < HTTPStatus.INTERNAL_SERVER_ERROR else None
        client.fail(problem_answer(problem_of(judged.status), detail, answer_id))


def lost_answer(*, in_this_slot: bool = False) -> bytes:
    """Log and count (unless a guard asks) that a request was lost with its worker; return the answer that says so."""
    if not in_this_slot:
        count_in(f"guard-{os.getpid()}")
    Metrics().count_lost()
    answer_id = uuid.uuid4().hex
    log.error("a worker died in the middle of a request", extra={"request_id": answer_id})
    return problem_answer(WORKER_LOST, None, answer_id, {"Retry-After": "1"})


class _MutedLog:
    """Stands in for a log that must not say what it says."""

    def __getattr__(self, name: str) -> Any:
        return lambda *args, **kwargs: None


class _Judgement:
    """Stands in for the client's socket and keeps the status of the page that gunicorn would have sent."""

    status = int(HTTPStatus.BAD_REQUEST)

    def gettimeout(self) -> float:
        """Say that writing never waits."""
        return 0.0

    def sendall(self, page: bytes) -> None:
        """Keep the status of the page."""
        self.status = int(page.split(b" ", 2)[1])


def problem_answer(
    problem: Problem, detail: str | None, request_id: str, more: Mapping[str, str] = MappingProxyType({})
) -> bytes:
    """Return a whole HTTP answer with the problem, which ends the connection."""
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
