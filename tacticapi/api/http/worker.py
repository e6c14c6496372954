"""gunicorn's sync worker, whose own refusals (no HTTP, too long, an unknown expectation) are problem documents too.

A guard beside each worker answers for it if it dies in the middle of a request. The rule matcher is a C extension: if
it crashes or hangs, no line of the worker runs any more, and its client would see the connection break. So the worker
lends each client's socket to its guard until it begins to answer. The guard sees that the worker is gone when their
line breaks, and tells the client in its place that a repeat will be answered.
"""

import contextlib
import errno
import gc
import json
import logging
import os
import signal
import socket
import time
import uuid
from collections.abc import Callable, Mapping
from http import HTTPStatus
from types import MappingProxyType
from typing import Any

from gunicorn.glogging import Logger
from gunicorn.util import close_graceful, write_nonblock
from gunicorn.workers.sync import SyncWorker

from tacticapi import settings
from tacticapi.api.http.metrics import Metrics, count_in
from tacticapi.api.http.middleware import REQUEST_ID, SAFE_HEADERS
from tacticapi.api.http.problems import MEDIA_TYPE, WORKER_LOST, Problem, problem_body, problem_of, shortened

HELD, LET_GO = b"h", b"l"
IGNORED = (signal.SIGINT, signal.SIGTERM, signal.SIGQUIT, signal.SIGHUP, signal.SIGUSR1, signal.SIGUSR2)
MAX_DESCRIPTORS = 1 << 20
PATIENCE_S = 5.0


class Guard:
    """The guard of the process that makes it, and ends with it. `lost` runs in the guard and returns the answer."""

    def __init__(self, lost: Callable[[], bytes]) -> None:
        """Start the guard: a fork, so make it before the process has anything that must not be in two of them."""
        ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        if os.fork() == 0:
            try:
                ours.detach()
                _stand_by(theirs, lost)
            finally:
                os._exit(0)
        theirs.close()
        self._line = ours
        self._holds = False

    def hold(self, client: socket.socket) -> None:
        """Answer this client if this process dies from now on."""
        with contextlib.suppress(OSError):  # a guard that was killed is done without
            socket.send_fds(self._line, [HELD], [client.fileno()])
            self._holds = True

    def let_go(self) -> None:
        """Release the client, who is answered or gone; do nothing if none is held."""
        if self._holds:
            self._holds = False
            with contextlib.suppress(OSError):
                self._line.send(LET_GO)


def _stand_by(line: socket.socket, lost: Callable[[], bytes]) -> None:
    for number in IGNORED:
        signal.signal(number, signal.SIG_IGN)
    signal.set_wakeup_fd(-1)
    os.closerange(3, line.fileno())
    os.closerange(line.fileno() + 1, MAX_DESCRIPTORS)
    held: int | None = None
    while True:
        message, descriptors, _, _ = socket.recv_fds(line, 1, 1)
        if not message:
            break
        if held is not None:
            os.close(held)
        held = descriptors[0] if message == HELD else None
    if held is not None:
        _answer(socket.socket(fileno=held), lost())


def _answer(client: socket.socket, answer: bytes) -> None:
    client.settimeout(PATIENCE_S)
    with contextlib.suppress(OSError):
        client.sendall(answer)
    close_graceful(client)


SEND_S = 20.0  # in which a client must take a part of an answer


class PromptSocket:
    """A client's socket for which time runs: one whose request is not there whole within so many seconds is gone.

    One that sends a byte now and then is late too, and so is one whose bytes are no HTTP (TLS, say). The parser and
    the readers of bodies see the end of what was sent, as of a client that has hung up.
    """

    def __init__(self, client: socket.socket, seconds: float) -> None:
        self._client = client
        self._end = time.monotonic() + seconds
        self._patience = seconds

    def __getattr__(self, name: str) -> Any:
        return getattr(self._client, name)

    def settimeout(self, seconds: float | None) -> None:
        """Wait at most this long for input, even if the deadline is later."""
        self._patience = SEND_S if seconds is None else seconds

    def recv(self, size: int) -> bytes:
        """Return what comes next; nothing once it is too late."""
        left = min(self._end - time.monotonic(), self._patience)
        if left <= 0:
            return b""
        self._client.settimeout(left)
        try:
            return self._client.recv(size)
        except TimeoutError:
            return b""

    def sendall(self, data: bytes) -> None:
        """Send a part of an answer. A client that does not take it counts as gone."""
        self._client.settimeout(SEND_S)
        try:
            self._client.sendall(data)
        except TimeoutError:
            raise BrokenPipeError(errno.EPIPE, "the client does not take its answer") from None


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


class ProblemWorker(SyncWorker):
    """Answers one request at a time, faults of the HTTP itself included, with a guard for when it dies of one."""

    slot = 0
    log: Any
    sockets: Any
    wsgi: Any

    def init_process(self) -> None:
        """Start the guard, then take requests."""
        self._guard = Guard(lost_answer)
        self._arrival = float(settings.ARRIVAL.read())
        for listener in self.sockets:
            take_begun_requests_only(listener)
        super().init_process()

    def load_wsgi(self) -> None:
        """Load the application; the guard lets go of a client as soon as its answer is there."""
        super().load_wsgi()
        gc.collect()
        gc.freeze()  # rules and code live as long as the process, so no collection looks through them again
        gc.set_threshold(YOUNG)
        application = self.wsgi

        def guarded(environ: Any, start_response: Any) -> Any:
            answer = application(environ, start_response)
            self._guard.let_go()
            return answer

        self.wsgi = guarded

    def handle(self, listener: Any, client: Any, addr: Any) -> None:
        """Answer one client."""
        self._guard.hold(client)
        try:
            super().handle(listener, PromptSocket(client, self._arrival), addr)
        finally:
            self._guard.let_go()

    def handle_error(self, req: Any, client: Any, addr: Any, exc: BaseException) -> None:
        """Let gunicorn judge the fault, then tell and log it in our way: its own log quotes address and request."""
        self._guard.let_go()
        if isinstance(exc, SystemExit):  # stopped by the master, since it worked on this for too long
            _send(client, lost_answer(in_this_slot=True))
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
        _send(client, problem_answer(problem_of(judged.status), detail, answer_id))


def _send(client: Any, answer: bytes) -> None:
    try:
        write_nonblock(client, answer)
    except Exception:
        log.debug("a client was gone before its problem could be told")


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
