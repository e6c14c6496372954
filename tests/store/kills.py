"""Workers of a running service killed in the middle of bulk posting: what was acknowledged is there, once and whole.

Three clients post JSON Lines without a pause, each request under an idempotency key of its own, and send a request
again until it is acknowledged, as a phone at the court does. Meanwhile one worker after another gets the signal KILL.

The whole run, for a night, from the top folder: python -m tests.store.kills --kills 100
It ends with status 1 where anything was lost, doubled or half written, or where the time was over.
"""

import argparse
import json
import os
import random
import signal
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import requests

from tacticapi.store import UnitOfWork, club_ids, open_engine, upgrade

from ..databases import ENGINES, new_address
from ..served.running import Service, running

CLIENTS, LINES, WORKERS = 3, 100, 3
A_MATCH = 40  # requests of a client
MAX_PAUSE_S = 0.1  # longer than a request takes, so that kills fall at any point of one
SECONDS = 360  # after which a run is given up
SEED = 7


@dataclass
class Tally:
    """What became of it, in entries but for `kills` and `repeats` (requests that were sent again)."""

    engine: str
    kills: int = 0
    repeats: int = 0
    posted: int = 0
    acknowledged: int = 0
    lost: int = 0
    doubled: int = 0
    half_written: int = 0
    seconds: float = 0.0

    @property
    def good(self) -> bool:
        """Whether all that was acknowledged is there, once, and no request by halves."""
        return self.acknowledged == self.posted and not (self.lost or self.doubled or self.half_written)


@dataclass
class Client:
    """Posts until it is told to stop; a request that was begun is sent until it is acknowledged."""

    name: str
    address: str
    players: dict[str, str]
    stop: threading.Event
    end: float
    posted: list[str] = field(default_factory=list)
    acknowledged: list[str] = field(default_factory=list)
    repeats: int = 0
    matches: list[str] = field(default_factory=list)

    def run(self) -> None:
        number = 0
        while not self.stop.is_set():
            if number % A_MATCH == 0:
                self._begin(number)
            refs = [f"{self.name}/{number}/{place}" for place in range(LINES)]
            self.posted += refs
            while not self._sent(number, refs) and time.monotonic() < self.end:
                self.repeats += 1
                time.sleep(0.02)
            number += 1

    def _begin(self, number: int) -> None:
        """Begin another match: one holds only so many entries."""
        headers = {"Idempotency-Key": f"{self.name}/match {number}"}
        while time.monotonic() < self.end:
            try:
                answer = requests.post(self.address, json=self.players, headers=headers, timeout=30)
            except requests.RequestException:
                continue
            if answer.status_code == 201:
                self.matches.append(answer.json()["id"])
                return

    def _sent(self, number: int, refs: list[str]) -> bool:
        lines = (json.dumps({"what": "serve.followed_to_net", "count": 1, "of": 2, "ref": ref}) for ref in refs)
        headers = {"Content-Type": "application/x-ndjson", "Idempotency-Key": f"{self.name}/{number}"}
        try:
            address = f"{self.address}/{self.matches[-1]}/observations"
            answer = requests.post(address, "\n".join(lines).encode(), headers=headers, timeout=30)
        except requests.RequestException:
            return False
        if answer.status_code >= 500:
            return False
        told: Any = answer.json()
        assert (answer.status_code, told["added"]) == (200, LINES), answer.text
        self.acknowledged += refs
        return True


def killed(engine: str, folder: Path, kills: int, seconds: float = SECONDS) -> Tally:
    """Serve on a new database of this engine, post, kill so many workers, and count. Bounded in time."""
    url, tally, start = new_address(engine, folder), Tally(engine), time.monotonic()
    upgrade(url)
    end = start + seconds
    with running(folder, DATABASE_URL=url, TACTICAPI_WORKERS=str(WORKERS)) as service:
        ids = {f"{s}_id": service.made("/v1/players", {"side": s, "label": s})["id"] for s in ("own", "opponent")}
        with posting(f"{service.address}/v1/matches", ids, end) as clients:
            for pause in pauses(kills):
                tally.kills += kill_one(service, clients, pause, end)
    tally.repeats = sum(client.repeats for client in clients)
    tally.seconds = round(time.monotonic() - start, 1)
    count(url, clients, tally)
    return tally


@contextmanager
def posting(address: str, players: dict[str, str], end: float) -> Iterator[list[Client]]:
    """Clients that post until the block ends."""
    stop = threading.Event()
    clients = [Client(f"client-{n}", address, players, stop, end) for n in range(CLIENTS)]
    threads = [threading.Thread(target=client.run, daemon=True) for client in clients]
    for thread in threads:
        thread.start()
    try:
        yield clients
    finally:
        stop.set()
        for thread in threads:
            thread.join(timeout=60)


def pauses(kills: int) -> Iterator[float]:
    """Seconds from an acknowledgement to the next kill, the same in every run."""
    drawn = random.Random(SEED)
    return (drawn.uniform(0.0, MAX_PAUSE_S) for _ in range(kills))


def kill_one(service: Service, clients: list[Client], pause: float, end: float) -> int:
    """Kill the worker that has worked longest, once a further request was acknowledged; 0 where the time is over."""
    before = sum(len(client.acknowledged) for client in clients)
    while sum(len(client.acknowledged) for client in clients) == before or len(service.workers()) < WORKERS:
        if time.monotonic() > end:
            return 0
        time.sleep(0.005)
    time.sleep(pause)
    while True:  # again where one ended while it was looked at
        try:
            os.kill(min(service.workers(), key=begun_at), signal.SIGKILL)
            return 1
        except (FileNotFoundError, ProcessLookupError):
            time.sleep(0.005)


def begun_at(pid: int) -> int:
    """When a process began, in ticks since the machine did (proc_pid_stat(5), field 22)."""
    return int(Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[19])


def count(url: str, clients: list[Client], tally: Tally) -> None:
    """Compare what is kept with what was acknowledged."""
    engine = open_engine(url)
    (club,) = club_ids(engine)
    with UnitOfWork(engine, club, read_only=True) as work:
        of = {id: work.observations.of_match(id) for client in clients for id in client.matches}
        revisions = {id: work.matches.revision(id) for id in of}
    engine.dispose()
    kept = Counter(str(entry.body["ref"]) for entries in of.values() for entry in entries if entry.body)
    requests_kept = Counter(ref.rpartition("/")[0] for ref in kept)
    tally.posted = sum(len(client.posted) for client in clients)
    tally.acknowledged = sum(len(client.acknowledged) for client in clients)
    tally.lost = sum(ref not in kept for client in clients for ref in client.acknowledged)
    tally.doubled = sum(times - 1 for times in kept.values())
    tally.half_written = sum(lines for lines in requests_kept.values() if lines != LINES)
    for id, entries in of.items():
        gapless = [entry.sequence for entry in entries] == list(range(1, len(entries) + 1))
        tally.half_written += not (gapless and revisions[id] == len(entries))


def main() -> None:
    """Print a line of JSON an engine."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=100, help="of each engine")
    parser.add_argument("--engine", choices=ENGINES, action="append", help="one engine alone")
    parser.add_argument("--seconds", type=float, default=SECONDS, help="after which an engine's run is given up")
    given = parser.parse_args()
    bad = False
    for engine in given.engine or ENGINES:
        with tempfile.TemporaryDirectory() as folder:
            tally = killed(engine, Path(folder), given.kills, given.seconds)
        print(json.dumps(asdict(tally)), flush=True)
        bad = bad or not tally.good or tally.kills < given.kills
    sys.exit(bad)


if __name__ == "__main__":
    main()
