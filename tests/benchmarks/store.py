"""How many observations a second both engines take, one a request and in bulk, and what advice and an export cost.

Run by hand: python -m tests.benchmarks.store. Starts a PostgreSQL of its own. The ratio of bulk to single is the point.
"""

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

from ..databases import ENGINES, new_address

ONE = {"what": "serve.followed_to_net", "count": 1, "of": 2, "set": 1, "game": 3}
SINGLE, BULKS, BULK_SIZE = 200, 9, 500


def timed(do: Callable[[], Any]) -> float:
    start = time.perf_counter()
    do()
    return time.perf_counter() - start


def measure(name: str, url: str, adviser: Adviser) -> None:
    upgrade(url)
    services, demo = Services(open_engine(url), adviser), demo_situation("after-match")
    club = clubs.create(services, "Two Kilns").club_id
    own, opponent = (players.create(services, club, side, side.title(), demo[side]).id for side in ("own", "opponent"))
    full, advised = (matches.create(services, club, own, opponent, context=demo["context"]).id for _ in range(2))
    one = timed(lambda: [entries.add_observations(services, club, full, ONE) for _ in range(SINGLE)]) / SINGLE
    many = [ONE] * BULK_SIZE
    bulk = timed(lambda: [entries.add_observations_in_bulk(services, club, full, many) for _ in range(BULKS)])
    bulk /= BULKS * BULK_SIZE
    print(f"{name}: {1 / one:,.0f} observations/s, {1 / bulk:,.0f}/s in bulks of {BULK_SIZE}: {one / bulk:.0f} times")
    entries.add_observations(services, club, advised, demo["observations"])
    fresh, again = (
        timed(lambda: advising.live_advice(services, club, advised, Moment.CHANGE_OF_ENDS)) for _ in range(2)
    )
    print(f"{name}: live advice {1000 * fresh:.1f} ms, unchanged {1000 * again:.1f} ms")
    matches.end(services, club, advised)
    print(f"{name}: debrief {1000 * timed(lambda: debrief(services, club, advised)):.1f} ms")
    print(f"{name}: export {1000 * timed(lambda: list(export(services, club))):.1f} ms")
    services.engine.dispose()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        for engine in ENGINES:
            measure(engine, new_address(engine, Path(folder)), Adviser(load()))
