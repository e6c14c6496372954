"""How many matches a second the rehearsal's world plays by itself, on two cores and without any adviser.

Run: python -m tests.benchmarks.rehearse [matches]. Counts processor time; ends with status 1 below FLOOR.
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from random import Random
from time import process_time

import numpy as np

from tests.rehearsal.world.habits import opponent_habits, planned
from tests.rehearsal.world.match import Court, Score, play_game
from tests.rehearsal.world.qualities import draw_nature, draw_user, opponent, own_player

CORES = 2
FLOOR = 200.0


def seconds_of_matches(first: int, count: int) -> float:
    """Processor seconds to draw and play so many whole matches."""
    start = process_time()
    for index in range(first, first + count):
        rng = np.random.default_rng([7, index])
        nature, user = draw_nature(rng), draw_user(rng)
        same = nature.left == user.left
        habits, plan = opponent_habits(nature, same, user.left), planned(same, nature.left)
        court, score = Court(own_player(user), opponent(nature), nature, habits, Random(index), plan), Score()
        while not score.over:
            play_game(court, score)
    return process_time() - start


def main() -> int:
    """Print matches a second; 1 if they are too few."""
    each = (int(sys.argv[1]) if len(sys.argv) > 1 else 200) // CORES
    with ProcessPoolExecutor(CORES) as pool:
        used = list(pool.map(seconds_of_matches, range(0, each * CORES, each), [each] * CORES))
    rate = sum(each / seconds for seconds in used)
    print(f"{rate:.0f} matches a second on {CORES} cores")
    return int(rate < FLOOR)


if __name__ == "__main__":
    sys.exit(main())
