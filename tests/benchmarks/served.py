"""Applications under gunicorn on this machine, and how many requests a second they answer."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import monotonic, perf_counter, sleep

HERE = Path(__file__).parent
HOST = "127.0.0.1"
WORKERS = 2
CLIENTS = 4
START_S = 60


@dataclass(frozen=True)
class Served:
    """A running application; `ready_s` is how long its first answer took from the start."""

    port: int
    process: subprocess.Popen[bytes]
    ready_s: float

    def post(self, body: bytes) -> bytes:
        """The whole answer to one POST /v1/suggestions. Raises RuntimeError for any status but 200."""
        head = (
            f"POST /v1/suggestions HTTP/1.1\r\nHost: {HOST}\r\nContent-Type: application/json\r\n"
            f"Content-Length: {len(body)}\r\nConnection: close\r\n\r\n"
        )
        with socket.create_connection((HOST, self.port), timeout=30) as connection:
            connection.sendall(head.encode() + body)
            answer = b"".join(iter(lambda: connection.recv(65536), b""))
        if not answer.startswith(b"HTTP/1.1 200"):
            raise RuntimeError(answer[:300].decode(errors="replace"))
        return answer.partition(b"\r\n\r\n")[2]

    def a_second(self, bodies: Sequence[bytes], seconds: float) -> float:
        """Requests answered a second, asked by CLIENTS at once for about so long."""
        end = monotonic() + seconds

        def ask(first: int) -> int:
            done = 0
            while monotonic() < end:
                self.post(bodies[(first + done) % len(bodies)])
                done += 1
            return done

        start = perf_counter()
        with ThreadPoolExecutor(CLIENTS) as clients:
            answered = sum(clients.map(ask, range(CLIENTS)))
        return answered / (perf_counter() - start)

    def worker_megabytes(self) -> list[float]:
        """Memory of each worker that no other process shares with it, and its part of the rest (PSS), in MB."""
        children = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text().split()
        rollups = [Path(f"/proc/{child}/smaps_rollup").read_text().splitlines() for child in children]
        return [sum(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024 for lines in rollups]


@contextmanager
def served(application: str, first: bytes, environment: Mapping[str, str] | None = None) -> Iterator[Served]:
    """Serve a WSGI application with WORKERS sync workers until the block ends. Raises RuntimeError if it cannot."""
    with socket.socket() as free:
        free.bind((HOST, 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "gunicorn", "--workers", str(WORKERS), "--bind", f"{HOST}:{port}"]
    command += ["--pythonpath", str(HERE), "--log-level", "error", "--backlog", "512", application]
    start = perf_counter()
    process = subprocess.Popen(command, env={**os.environ, **(environment or {})}, stdout=subprocess.DEVNULL)
    try:
        _wait(Served(port, process, 0.0), first)
        yield Served(port, process, perf_counter() - start)
    finally:
        process.terminate()
        process.wait(START_S)


def _wait(started: Served, first: bytes) -> None:
    for _ in range(10 * START_S):
        if started.process.poll() is not None:
            break
        try:
            started.post(first)
        except OSError:
            sleep(0.1)
        else:
            return
    raise RuntimeError("the application does not answer")
