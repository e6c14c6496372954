"""Workers of a running service killed in the middle of bulk posting: what was acknowledged is there, once and whole.

Three clients post JSON Lines without a pause, each request under an idempotency key of its own, and send a request
again until it is acknowledged, as a phone at the court does. Meanwhile one worker after another gets the signal KILL.

The whole run, for a night, from the top folder: python -m tests.store.kills --kills 100
It ends with status 1 where anything was lost, doubled or half written, or where the time was over.
"""

import argparse
import itertools
import json
import os
import random
import signal
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import requests

from tacticapi.store import UnitOfWork, club_ids, open_engine

from ..databases import ENGINES, new_database
from ..served.running import Service, running

CLIENTS, LINES, WORKERS = 3, 100, 3
A_MATCH = 40  # requests of a client; a match holds only so many entries
MAX_PAUSE_S = 0.1  # longer than a request takes, so that kills fall at any point of one
SECONDS = 360  # after which a run is given up
JSON_LINES = {"Content-Type": "application/x-ndjson"}


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


class Client:
    """Posts until it is told to stop; a request that was begun is sent until it is acknowledged."""

    def __init__(self, name: str, service: Service, players: dict[str, str], end: float) -> None:
        self.name, self.service, self.players, self.end = name, service, players, end
        self.posted: list[str] = []
        self.acknowledged: list[str] = []
        self.matches: list[str] = []
        self.repeats = 0

    def run(self, over: threading.Event) -> None:
        for number in itertools.count():
            if over.is_set():
                return
            if number % A_MATCH == 0:
                self.matches.append(self._sent("/v1/matches", f"match {number}", self.players)["id"])
            refs = [f"{self.name}/{number}/{place}" for place in range(LINES)]
            self.posted += refs
            lines = [{"what": "serve.followed_to_net", "count": 1, "of": 2, "ref": ref} for ref in refs]
            assert self._sent(f"/v1/matches/{self.matches[-1]}/observations", str(number), lines)["added"] == LINES
            self.acknowledged += refs

    def _sent(self, path: str, key: str, body: Any) -> Any:
        headers = {"Idempotency-Key": f"{self.name}/{key}"} | (JSON_LINES if isinstance(body, list) else {})
        text = "\n".join(map(json.dumps, body)) if isinstance(body, list) else json.dumps(body)
        headers = {"Content-Type": "application/json", **headers}
        while time.monotonic() < self.end:
            try:
                answer = requests.post(self.service.address + path, text.encode(), headers=headers, timeout=30)
                if answer.status_code < 500:
                    return answer.json()
            except requests.RequestException:
                pass
            self.repeats += 1
            time.sleep(0.02)
        raise TimeoutError


def killed(engine: str, folder: Path, kills: int, seconds: float = SECONDS) -> Tally:
    """Serve on a new database of this engine, post, kill so many workers, and count. Bounded in time."""
    url, end, over = new_database(engine, folder), time.monotonic() + seconds, threading.Event()
    pauses = random.Random(7)
    with running(folder, DATABASE_URL=url, TACTICAPI_WORKERS=str(WORKERS)) as service:
        ids = service.players()
        clients = [Client(f"client-{n}", service, ids, end) for n in range(CLIENTS)]
        threads = [threading.Thread(target=client.run, args=(over,), daemon=True) for client in clients]
        for thread in threads:
            thread.start()
        done = sum(kill_one(service, clients, pauses.uniform(0.0, MAX_PAUSE_S), end) for _ in range(kills))
        over.set()
        for thread in threads:
            thread.join(timeout=60)
    return count(url, clients, Tally(engine, done, sum(client.repeats for client in clients)))


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


def count(url: str, clients: list[Client], tally: Tally) -> Tally:
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
    return tally


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=100, help="of each engine")
    given, bad = parser.parse_args(), False
    for name in ENGINES:
        with tempfile.TemporaryDirectory() as made:
            told = killed(name, Path(made), given.kills)
        print(json.dumps(asdict(told)), flush=True)
        bad |= told.kills < given.kills or told.acknowledged != told.posted
        bad |= bool(told.lost or told.doubled or told.half_written)
    sys.exit(bad)
