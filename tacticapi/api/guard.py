"""A process beside each worker that answers for it where it dies in the middle of a request.

The rule matcher is a C extension: if it crashes or hangs, no line of the worker runs any more, and its client would see
the connection break. So the worker lends each client's socket to its guard until it begins to answer. The guard sees
that the worker is gone when their line breaks, and tells the client in its place that a repeat will be answered.
"""

import contextlib
import os
import signal
import socket
from collections.abc import Callable

from gunicorn.util import close_graceful

HELD, LET_GO = b"h", b"l"
IGNORED = (signal.SIGINT, signal.SIGTERM, signal.SIGQUIT, signal.SIGHUP, signal.SIGUSR1, signal.SIGUSR2)
MOST_DESCRIPTORS = 1 << 20
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
        """From now on the client is answered, or gone; does nothing where none is held."""
        if self._holds:
            self._holds = False
            with contextlib.suppress(OSError):
                self._line.send(LET_GO)


def _stand_by(line: socket.socket, lost: Callable[[], bytes]) -> None:
    for number in IGNORED:
        signal.signal(number, signal.SIG_IGN)
    signal.set_wakeup_fd(-1)
    os.closerange(3, line.fileno())
    os.closerange(line.fileno() + 1, MOST_DESCRIPTORS)
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
