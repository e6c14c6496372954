"""What share of a request goes into pricing every look at the opponent.

Run: python tests/benchmarks/looks.py. Prints, for several situations, the milliseconds of a whole recommendation,
those of its looks, and their share; ends with status 1 if the looks take more than MOST in any of them. Their time is
nearly constant, so the share rises as the rest of the road gets faster.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from time import perf_counter
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.domain.situation import Observation, Situation
from tacticapi.domain.terms import Moment, Way, Wing
from tacticapi.knowledge import load

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


def situations() -> dict[str, Situation]:
    """Early, in the middle with little seen, and in the middle with much seen."""
    opponent = {"handedness": "left", "backhand_type": "one-handed"}
    observations = tuple(Observation(index=place, **seen) for place, seen in enumerate(SEEN))
    return {
        "after the warm-up, nothing seen": Situation(Moment.AFTER_WARM_UP, own=OWN, opponent=opponent),
        "change of ends, little seen": Situation(
            Moment.CHANGE_OF_ENDS, own=OWN, opponent=opponent, observations=observations[:2], score=SCORE
        ),
        "change of ends, much seen": Situation(
            Moment.CHANGE_OF_ENDS, own=OWN, opponent=opponent, observations=observations, score=SCORE
        ),
    }


class _Timed:
    """Stands before an object and adds up the seconds spent in its methods."""

    def __init__(self, inner: Any) -> None:
        self._inner = inner
        self.seconds = 0.0

    def __getattr__(self, name: str) -> Callable[..., Any]:
        method = getattr(self._inner, name)

        def timed(*args: Any, **kwargs: Any) -> Any:
            start = perf_counter()
            try:
                return method(*args, **kwargs)
            finally:
                self.seconds += perf_counter() - start

        return timed


def main() -> int:
    """Time whole recommendations and, within the same runs, their looks; the median run of each situation counts."""
    adviser = Adviser(load())
    looks = _Timed(adviser._looks)
    adviser._looks = looks  # type: ignore[assignment]
    worst = 0.0
    for name, situation in situations().items():
        adviser.recommend(situation)
        runs = []
        for _ in range(ROUNDS):
            looks.seconds = 0.0
            start = perf_counter()
            adviser.recommend(situation)
            whole = perf_counter() - start
            runs.append((looks.seconds / whole, whole, looks.seconds))
        share, whole, within = sorted(runs)[ROUNDS // 2]
        worst = max(worst, share)
        print(f"{name:34} {1000 * whole:6.2f} ms  looks {1000 * within:5.2f} ms  share {share:.3f}")
    return int(worst > MOST)


if __name__ == "__main__":
    sys.exit(main())
