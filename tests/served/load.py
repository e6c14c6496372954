"""Sixteen clients that keep two workers busy with reads, posts and advice: nothing fails, nothing is lost.

From the top folder: python -m tests.served.load [--postgresql] [--seconds 60] [--requests 50000]

It ends with status 1 where an answer was 500 or above, where an acknowledged entry is missing, where the slowest
hundredth took more than ten times the median, or, over enough requests, where memory grew. On this machine only.
"""

import argparse
import random
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from statistics import mean, quantiles

import requests

from tacticapi.seeds import demo_situation

from ..databases import ENGINES, new_database
from .running import Service, running

CLIENTS, WORKERS, SECONDS = 16, 2, 60
SPREAD_BAR, MEMORY_BAR = 10.0, 1.03
ENOUGH_FOR_MEMORY = 50_000
A_MATCH = 40  # posts; about as many as a match sees
SAMPLE_S = 1.0
READS, POSTS = 0.45, 0.35  # the rest is advice
SEEN = demo_situation("after-match")["observations"][:A_MATCH]


@dataclass
class Tally:
    """What the clients saw, together."""

    statuses: Counter[int] = field(default_factory=Counter)
    broken: Counter[str] = field(default_factory=Counter)
    seconds: list[float] = field(default_factory=list)
    kept: dict[str, set[str]] = field(default_factory=dict)
    memory: list[tuple[int, float]] = field(default_factory=list)


class Client:
    """A phone at the court: it posts, reads and asks for advice, and begins another match after so many posts."""

    def __init__(self, service: Service, tally: Tally, number: int, players: dict[str, str]) -> None:
        self.service, self.tally, self.players = service, tally, players
        self.random, self.posted, self.match = random.Random(number), A_MATCH, ""
        self.session = requests.Session()  # keeps its connection where the service does

    def work(self, over: threading.Event) -> None:
        while not over.is_set():
            if self.posted < A_MATCH:
                self.one_thing()
            elif (answer := self.ask("POST", "/v1/matches", self.players)) is not None and answer.status_code == 201:
                self.match, self.posted = f"/v1/matches/{answer.json()['id']}", 0
                self.tally.kept[self.match] = set()

    def one_thing(self) -> None:
        drawn = self.random.random()
        if drawn < READS:
            self.ask("GET", self.match + self.random.choice(("", "/score", "/observations")))
        elif drawn < READS + POSTS:
            answer = self.ask("POST", f"{self.match}/observations", SEEN[self.posted])
            self.posted += 1
            if answer is not None and answer.status_code == 201:
                self.tally.kept[self.match].add(answer.json()["id"])
        elif drawn < 0.9:
            self.ask("GET", f"{self.match}/suggestions?moment=change-of-ends")
        else:
            self.ask("POST", "/v1/suggestions", {"moment": "change-of-ends", "observations": SEEN[: self.posted]})

    def ask(self, method: str, path: str, body: object = None) -> requests.Response | None:
        start = time.perf_counter()
        try:
            answer = self.session.request(method, self.service.address + path, json=body, timeout=60)
        except requests.RequestException as error:
            self.tally.broken[type(error).__name__] += 1
            return None
        self.tally.seconds.append(time.perf_counter() - start)
        self.tally.statuses[answer.status_code] += 1
        return answer


def megabytes(service: Service) -> float:
    """Memory of the workers that no other process shares with them, and their part of the rest (PSS)."""
    rollups = [Path(f"/proc/{worker}/smaps_rollup").read_text().splitlines() for worker in service.workers()]
    return sum(int(line.split()[1]) for lines in rollups for line in lines if line.startswith("Pss:")) / 1024


def loaded(service: Service, seconds: float, wanted: int) -> Tally:
    """Keep the service busy for so long, or for so many requests where more are wanted."""
    tally, over = Tally(), threading.Event()
    players = service.players()
    clients = [Client(service, tally, number, players) for number in range(CLIENTS)]
    threads = [threading.Thread(target=client.work, args=(over,)) for client in clients]
    for thread in threads:
        thread.start()
    end = time.monotonic() + seconds
    while time.monotonic() < end or len(tally.seconds) < wanted:
        time.sleep(SAMPLE_S)
        tally.memory.append((len(tally.seconds), megabytes(service)))
    over.set()
    for thread in threads:
        thread.join()
    return tally


def missing(service: Service, tally: Tally) -> int:
    lost = 0
    for match, ids in tally.kept.items():
        listed = service.get(f"{match}/observations?page_size=100").json()["items"]
        lost += len(ids - {entry["id"] for entry in listed})
    return lost


def growth(tally: Tally) -> float:
    """Memory over the last tenth of the requests, as a ratio to that over the second tenth."""
    done = tally.memory[-1][0]
    second = [size for count, size in tally.memory if 0.1 * done <= count < 0.2 * done]
    last = [size for count, size in tally.memory if count >= 0.9 * done]
    return mean(last) / mean(second)


def report(engine: str, tally: Tally, lost: int, seconds: float) -> bool:
    """Print the figures; whether every bar is kept."""
    cuts = quantiles(tally.seconds, n=100)
    spread, grown, done = cuts[98] / cuts[49], growth(tally), len(tally.seconds)
    failed = sum(count for status, count in tally.statuses.items() if status >= 500)
    print(f"{engine}: {CLIENTS} clients, {WORKERS} workers, {done:,} requests in {seconds:.0f} s")
    print(f"  statuses {dict(sorted(tally.statuses.items()))}, broken {dict(tally.broken)}, entries lost {lost}")
    print(f"  p50 {1000 * cuts[49]:.0f} ms, p99 {1000 * cuts[98]:.0f} ms, ratio {spread:.1f} (bar {SPREAD_BAR:g})")
    print(f"  workers {tally.memory[-1][1]:.0f} MB, last tenth to second tenth {grown:.3f} (bar {MEMORY_BAR:g})")
    flat = grown <= MEMORY_BAR or done < ENOUGH_FOR_MEMORY
    return failed == 0 and not tally.broken and lost == 0 and spread < SPREAD_BAR and flat


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--postgresql", action="store_true")
    asked.add_argument("--seconds", type=float, default=SECONDS)
    asked.add_argument("--requests", type=int, default=0)
    given = asked.parse_args()
    engine = ENGINES[given.postgresql]
    with tempfile.TemporaryDirectory() as folder:
        url = new_database(engine, Path(folder))
        settings = {"DATABASE_URL": url, "TACTICAPI_WORKERS": str(WORKERS), "TACTICAPI_RECYCLE": "0"}
        settings |= {"TACTICAPI_RATE_LOOPBACK": "none", "TACTICAPI_LOG_LEVEL": "warning"}
        with running(Path(folder), **settings) as service:
            start = time.monotonic()
            tally = loaded(service, given.seconds, given.requests)
            seconds = time.monotonic() - start
            good = report(engine, tally, missing(service, tally), seconds)
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
