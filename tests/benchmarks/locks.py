#!/usr/bin/env python
"""How long a writer keeps the others of a SQLite file waiting, at most, in the longest writes of a club.

Run by hand: python tests/benchmarks/locks.py. Each figure is the longest time from the lock to the end of the commit in
one use case, and the processor's part of it, which other work on the machine does not lengthen. Ends with status 1 if
the processor's part of one is over BAR_MS.
"""

import gc
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.club import Services, advising, clubs, entries, matches, players, retention, scorekeeping
from tacticapi.club.export import export
from tacticapi.club.importing import import_club
from tacticapi.club.services import IdempotentRequest
from tacticapi.domain.situation import Moment
from tacticapi.rulebook.load import load
from tacticapi.seeds import demo_situation
from tacticapi.store import UnitOfWork, open_engine, upgrade
from tacticapi.store.engine import file_url

BAR_MS = 100.0
BULK, ADVICE, POINTS, MATCHES = 2_000, 40, 50, 3  # lines of a bulk; advice and points of a match; matches
DEMO = demo_situation("after-match")
LINES = [{**DEMO["observations"][n % len(DEMO["observations"])], "note": "with Sleet"} for n in range(BULK)]
Held = list[tuple[float, float]]


@contextmanager
def held() -> Any:
    """Note the wall and processor milliseconds of every unit of work that writes."""
    enter, leave = UnitOfWork.__enter__, UnitOfWork.__exit__
    noted: Held = []
    since: list[tuple[float, float]] = []

    def entered(work: UnitOfWork) -> UnitOfWork:
        enter(work)
        since.append((time.perf_counter(), time.process_time()))
        return work

    def left(work: UnitOfWork, *error: Any) -> None:
        leave(work, *error)
        wall, processor = since.pop()
        if not work.read_only and work.engine.url.database:  # others wait for a file alone
            noted.append((1000 * (time.perf_counter() - wall), 1000 * (time.process_time() - processor)))

    UnitOfWork.__enter__, UnitOfWork.__exit__ = entered, left  # type: ignore[method-assign]
    try:
        yield noted
    finally:
        UnitOfWork.__enter__, UnitOfWork.__exit__ = enter, leave  # type: ignore[method-assign]


def longest(name: str, do: Callable[[], Any]) -> bool:
    with held() as noted:
        do()
    wall, processor = (max(side) for side in zip(*noted, strict=True))
    late = processor > BAR_MS
    print(f"{name:<46} {len(noted):>5} locks, longest {wall:7.1f} ms, processor {processor:6.1f} ms{' MISSED' * late}")
    return not late


def main() -> int:
    adviser = Adviser(load())
    gc.collect()
    gc.freeze()  # as the workers do
    with tempfile.TemporaryDirectory() as folder:
        services = opened(Path(folder) / "kept.db", adviser)
        club = clubs.create(services, "Two Kilns").club_id
        own = players.create(services, club, "own", "Larch", DEMO["own"]).id
        opponent = players.create(services, club, "opponent", "Sleet", DEMO["opponent"]).id
        ids = [matches.create(services, club, own, opponent, context=DEMO["context"]).id for _ in range(MATCHES)]
        full, *others = ids

        def bulk(match_id: str, key: str | None = None) -> None:
            once = IdempotentRequest.of(key, ["POST", LINES]) if key else None
            entries.add_observations_in_bulk(services, club, match_id, LINES, once=once)

        def advise() -> None:
            for n in range(ADVICE):
                entries.add_observations(services, club, full, LINES[n])
                advising.live_advice(services, club, full, Moment.CHANGE_OF_ENDS)

        def score() -> None:
            for n in range(POINTS):
                scorekeeping.add_points(services, club, full, {"winner": "opponent" if n % 2 else "own"})

        good = [
            longest(f"bulk of {BULK:,} observations", lambda: bulk(full)),
            longest("the same with an idempotency key", lambda: bulk(full, "a")),
            longest(f"{ADVICE} times an observation and advice", advise),
            longest(f"{POINTS} points", score),
        ]
        for match_id in others:
            bulk(match_id)
        text = list(export(services, club))
        other = opened(Path(folder) / "other.db", adviser)
        good += [
            longest(f"import of {len(text):,} lines", lambda: import_club(other, text)),
            longest("erasing a player of that club", lambda: retention.erase_player(other, club, opponent)),
            longest("sweeping that club", lambda: retention.sweep_club(other, club)),
            longest("ending the fullest match", lambda: matches.end(services, club, full)),
            longest("deleting it", lambda: matches.delete(services, club, full)),
        ]
        return 0 if all(good) else 1


def opened(file: Path, adviser: Adviser) -> Services:
    upgrade(file_url(file))
    return Services(open_engine(file_url(file)), adviser)


if __name__ == "__main__":
    sys.exit(main())
