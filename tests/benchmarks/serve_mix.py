"""How many answers about both sides of the court one process gives in a second.

Run: python tests/benchmarks/serve_mix.py. Prints calls per second without and with sequences of serves; ends with
status 1 if either falls below the floor.
"""

from __future__ import annotations

import random
import sys
from time import perf_counter

from tacticapi.pricing.serve_mix import CourtServes, MixModel, Served, Serves, SpotCounts, serve_mix
from tacticapi.rulebook.load import load

CALLS = 40
FLOOR = 10.0
SPOTS = ("wide", "body", "T")
MODEL = MixModel(**load().defaults["serve_mix"])


def both_courts(call: int, length: int) -> list[CourtServes]:
    """Invented counts, different for every call, so that nothing can be remembered."""
    dice = random.Random(f"{call} {length}")
    courts = []
    for court in ("deuce", "ad"):
        serves = {spot: Serves(won, won + dice.randrange(12)) for spot in SPOTS for won in (dice.randrange(12),)}
        counts = SpotCounts(SPOTS, serves, {spot: dice.randrange(8) for spot in SPOTS})
        courts.append(CourtServes(court, counts, tuple(Served(dice.choice(SPOTS)) for _ in range(length))))
    return courts


def calls_a_second(length: int) -> float:
    """Calls per second, after one call to warm up."""
    work = [both_courts(call, length) for call in range(CALLS + 1)]
    serve_mix(work.pop(), MODEL, 1)
    before = perf_counter()
    for courts in work:
        serve_mix(courts, MODEL, 1)
    return CALLS / (perf_counter() - before)


def main() -> int:
    """Time calls without a sequence, with thirty serves a court and with a hundred; 0 if all reach FLOOR."""
    rates = {length: calls_a_second(length) for length in (0, 30, 100)}
    for length, rate in rates.items():
        print(f"both courts, {length} serves in order each: {rate:.0f} calls a second")
    return 0 if min(rates.values()) >= FLOOR else 1


if __name__ == "__main__":
    sys.exit(main())
