"""Applications under gunicorn on this machine, and how many requests a second they answer."""

import os
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from statistics import median
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

    def milliseconds(self, bodies: Sequence[bytes], seconds: float) -> list[float]:
        """How long each request took, asked by CLIENTS at once for about so long."""
        end = monotonic() + seconds

        def ask(first: int) -> list[float]:
            taken: list[float] = []
            while monotonic() < end:
                start = perf_counter()
                self.post(bodies[(first + len(taken)) % len(bodies)])
                taken.append(1000 * (perf_counter() - start))
            return taken

        with ThreadPoolExecutor(CLIENTS) as clients:
            return [took for taken in clients.map(ask, range(CLIENTS)) for took in taken]

    def one_by_one(self, turns: int) -> tuple[float, float]:
        """Median milliseconds of a small GET over one connection that is kept, and over a new one each, turn about."""
        with closing(HTTPConnection(HOST, self.port, timeout=30)) as kept:
            taken: tuple[list[float], list[float]] = ([], [])
            for _ in range(turns):
                for connection, times in zip((kept, HTTPConnection(HOST, self.port, timeout=30)), taken, strict=True):
                    start = perf_counter()
                    connection.request("GET", "/livez")
                    connection.getresponse().read()
                    times.append(1000 * (perf_counter() - start))
                    if connection is not kept:
                        connection.close()
        return median(taken[0]), median(taken[1])

    def spent(self) -> float:
        """Processor milliseconds that the workers and what they started have used so far."""
        workers = _children(self.process.pid)
        stats = [
            Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
            for process in [*workers, *(child for worker in workers for child in _children(worker))]
        ]
        return 1000 * sum(int(stat[11]) + int(stat[12]) for stat in stats) / os.sysconf("SC_CLK_TCK")

    def worker_megabytes(self) -> list[float]:
        """Memory of each worker that no other process shares with it, and its part of the rest (PSS), in MB."""
        children = _children(self.process.pid)
        rollups = [Path(f"/proc/{child}/smaps_rollup").read_text().splitlines() for child in children]
        return [sum(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024 for lines in rollups]


def _children(process: int) -> list[int]:
    return [int(child) for child in Path(f"/proc/{process}/task/{process}/children").read_text().split()]


@contextmanager
def ours(first: bytes) -> Iterator[Served]:
    """Serve this service as `tacticapi serve` does, its log thrown away, nobody limited."""
    with tempfile.TemporaryDirectory() as folder:
        environment = {"TACTICAPI_DB": f"{folder}/bench.db", "TACTICAPI_RATE_LOOPBACK": "none"}
        command = [sys.executable, "-m", "tacticapi", "serve", "--workers", str(WORKERS)]
        with _running(command, first, environment) as one:
            yield one


@contextmanager
def bare(first: bytes) -> Iterator[Served]:
    """Serve the bare application by gunicorn's sync workers."""
    command = [sys.executable, "-m", "gunicorn", "--workers", str(WORKERS), "--pythonpath", str(HERE)]
    with _running([*command, "--log-level", "error", "bare_app:create_app()"], first, {}) as one:
        yield one


@contextmanager
def _running(command: Sequence[str], first: bytes, environment: Mapping[str, str]) -> Iterator[Served]:
    """Run a server with WORKERS workers until the block ends. Raises RuntimeError if it does not answer."""
    with socket.socket() as free:
        free.bind((HOST, 0))
        port = free.getsockname()[1]
    place = ["--port", str(port)] if "serve" in command else ["--bind", f"{HOST}:{port}"]
    start = perf_counter()
    quiet = subprocess.DEVNULL
    process = subprocess.Popen([*command, *place], env={**os.environ, **environment}, stdout=quiet, stderr=quiet)
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
