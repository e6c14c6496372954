"""What share of a request goes into pricing every look at the opponent.

Run: python tests/benchmarks/looks.py. Prints, for several situations, the milliseconds of a whole recommendation,
those of its looks, and their share; ends with status 1 if the looks take more than MOST in any of them. It is
processor time, so that other work on the machine does not count. Counts and points differ from run to run, as they do
from request to request, so that neither part can live on what it remembers.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable
from dataclasses import replace
from time import thread_time
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.domain.situation import Moment, Observation, PointsPlayed, Situation, Way, Wing
from tacticapi.rulebook.load import load

MOST = 0.10
ROUNDS = 60

OWN = {"handedness": "right", "serve_placement": 3, "slice_backhand": 3, "second_serve_kick": 3, "volley": 2}
SCORE = {"sets": [[3, 6]], "games": [2, 1], "points": ["0", "0"], "server": "opponent"}
SEEN: tuple[dict[str, Any], ...] = (
    {"what": "warmup.ran_round_backhand", "way": Way.COUNT, "count": 2, "of": 6},
    {"what": "warmup.low_forehand", "way": Way.RATING, "rating": 1},
    {"what": "rally.backhand_errors", "way": Way.COUNT, "count": 4, "of": 11, "set": 1, "game": 8},
    {"what": "serve.ad_court_spots", "way": Way.COUNTS, "counts": {"wide": 6, "body": 0, "T": 1}, "set": 2, "game": 2},
    {"what": "return.forehand_in", "way": Way.COUNT, "count": 7, "of": 9, "set": 1, "game": 4},
    {
        "what": "rally.against_low_ball",
        "way": Way.COUNT,
        "count": 3,
        "of": 7,
        "set": 1,
        "game": 9,
        "wing": Wing.FOREHAND,
    },
    {"what": "rally.strokes_per_point", "way": Way.AMOUNT, "amount": 6, "set": 2, "game": 1},
)


def situations(draw: random.Random) -> dict[str, Situation]:
    """Early, in the middle with little seen, and in the middle with much seen; the counts are drawn."""
    opponent = {"handedness": "left", "backhand_type": "one-handed"}
    observations = tuple(Observation(index=place, **_recounted(seen, draw)) for place, seen in enumerate(SEEN))
    played = PointsPlayed(draw.randint(15, 30), 40, draw.randint(10, 25), 40)
    middle = Situation(Moment.CHANGE_OF_ENDS, own=OWN, opponent=opponent, score=SCORE, points_played=played)
    return {
        "after the warm-up, nothing seen": Situation(Moment.AFTER_WARM_UP, own=OWN, opponent=opponent),
        "change of ends, little seen": replace(middle, observations=observations[:2]),
        "change of ends, much seen": replace(middle, observations=observations),
    }


def _recounted(seen: dict[str, Any], draw: random.Random) -> dict[str, Any]:
    if "counts" in seen:
        return {**seen, "counts": {option: draw.randint(0, 2 * n) for option, n in seen["counts"].items()}}
    return {**seen, "count": draw.randint(1, seen["of"] - 1)} if "of" in seen else seen


class _Timed:
    """Stands before a task and adds up the seconds spent in it."""

    def __init__(self, task: Callable[..., Any]) -> None:
        self._task = task
        self.seconds = 0.0

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        start = thread_time()
        try:
            return self._task(*args, **kwargs)
        finally:
            self.seconds += thread_time() - start


def main() -> int:
    """Time whole recommendations and, within the same runs, their looks; the median run of each situation counts."""
    adviser = Adviser(load())
    looks = _Timed(adviser._look_for)
    adviser._look_for = looks  # type: ignore[assignment,method-assign]
    draw = random.Random(1)
    names = list(situations(draw))
    runs: dict[str, list[tuple[float, float, float]]] = {name: [] for name in names}
    for _ in range(ROUNDS):
        for name, situation in situations(draw).items():
            looks.seconds = 0.0
            start = thread_time()
            adviser.recommend(situation)
            whole = thread_time() - start
            runs[name].append((looks.seconds / whole, whole, looks.seconds))
    worst = 0.0
    for name in names:
        share, whole, within = sorted(runs[name])[ROUNDS // 2]
        worst = max(worst, share)
        print(f"{name:34} {1000 * whole:6.2f} ms  looks {1000 * within:5.2f} ms  share {share:.3f}")
    return int(worst > MOST)


if __name__ == "__main__":
    sys.exit(main())
