"""Times one recommendation and its stages: `python tests/benchmarks/recommend.py`.

Prints, for 10, 50 and 500 observations, the median time of a recommendation, that of each stage, and the matcher's
share. Every observation is one of those that a client may post, drawn at random with a fixed seed.
"""

import argparse
import random
import time
from collections.abc import Callable
from statistics import median
from typing import Any

from tacticapi.advice import Adviser, recommend
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Observation, OwnErrors, PointsPlayed, Situation, Tries
from tacticapi.domain.terms import Moment, Way, Wing
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.knowledge import load

PROFILES = ("own", "opponent", "context")
STAGES = ("score and prices", "evidence", "facts", "matcher", "price and rank", "looks", "words")


def observation(draw: random.Random, place: int, kind: ObservationKind) -> Observation:
    way = draw.choice([way for way in kind.ways if way is not Way.TEXT] or [Way.TEXT])
    said: dict[str, Any] = {}
    match way:
        case Way.COUNT:
            said["of"] = draw.randint(1, 12)
            said["count"] = draw.randint(0, said["of"])
        case Way.COUNTS:
            said["counts"] = {option: draw.randint(0, 4) for option in kind.options}
        case Way.RATING:
            said["rating"] = draw.randint(0, 4)
        case Way.AMOUNT:
            said["amount"] = draw.randint(0, 40)
        case Way.VALUE:
            said["value"] = draw.choice(kind.options)
        case Way.SEEN:
            said["seen"] = draw.random() < 0.5
        case Way.TEXT:
            said["value"] = "WLWL"
    wing = draw.choice(list(Wing)) if "wing" in kind.qualifiers else None
    return Observation(place, kind.id, way, wing=wing, set=1, game=draw.randint(1, 9), **said)


def situation(draw: random.Random, rulebook: Rulebook, size: int) -> Situation:
    """A change of ends late in the first set, with strokes and tries, without danger signs."""
    kinds = [k for k in rulebook.kinds.values() if k.subject not in PROFILES and not k.health]
    own = [k.key for k in rulebook.kinds.values() if k.subject == "own" and Way.RATING in k.ways]
    return Situation(
        Moment.CHANGE_OF_ENDS,
        context={"surface": "clay", "coaching": "permitted", "device": "coach"},
        own={**{key: draw.randint(1, 4) for key in own}, "pain_now": 0, "handedness": "right"},
        opponent={"handedness": "left", "backhand_type": "one-handed"},
        observations=tuple(observation(draw, place, draw.choice(kinds)) for place in range(size)),
        score={"sets": [], "games": [5, 4], "points": ["0", "0"], "server": "own"},
        points_played=PointsPlayed(20, 33, 12, 30),
        own_errors=OwnErrors(12, 28),
        tries=(Tries("work-weaker-wing", 8, 5),),
    )


class Stages:
    """Adds up the time spent in the stages of an adviser."""

    def __init__(self, adviser: Adviser) -> None:
        self.spent = dict.fromkeys(STAGES, 0.0)
        for owner, name, stage in (
            (recommend, "read_score", "score and prices"),
            (recommend, "MatchPricer", "score and prices"),
            (adviser._evidence, "believe", "evidence"),
            (adviser._facts, "build", "facts"),
            (adviser.matcher, "match", "matcher"),
            (adviser, "_select", "price and rank"),
            (adviser, "_look_for", "looks"),
        ):
            setattr(owner, name, self._timed(getattr(owner, name), stage))

    def _timed(self, task: Callable[..., Any], stage: str) -> Callable[..., Any]:
        def timed(*args: Any, **kwargs: Any) -> Any:
            start = time.perf_counter()
            try:
                return task(*args, **kwargs)
            finally:
                self.spent[stage] += time.perf_counter() - start

        return timed

    def measure(self, adviser: Adviser, asked: Situation) -> dict[str, float]:
        """Milliseconds by stage; what is spent outside the others is the words."""
        self.spent = dict.fromkeys(STAGES, 0.0)
        start = time.perf_counter()
        adviser.recommend(asked)
        total = time.perf_counter() - start
        self.spent["words"] = total - sum(self.spent.values())
        return {name: 1000 * spent for name, spent in {"total": total, **self.spent}.items()}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=60, help="recommendations a size")
    requests = parser.parse_args().requests
    rulebook = load(strict=False)
    adviser = Adviser(rulebook)
    stages = Stages(adviser)
    print(f"{len(adviser.matcher.rules)} rules, {adviser.matcher.engine_name}; median milliseconds of {requests}")
    print(f"{'observations':>12}" + "".join(f"{name:>18}" for name in ("total", *STAGES, "matcher's share")))
    for size in (10, 50, 500):
        draw = random.Random(size)
        asked = [situation(draw, rulebook, size) for _ in range(requests)]
        adviser.recommend(asked[0])
        runs = [stages.measure(adviser, one) for one in asked]
        middle = {name: median(run[name] for run in runs) for name in ("total", *STAGES)}
        share = median(run["matcher"] / run["total"] for run in runs)
        print(f"{size:>12}" + "".join(f"{value:>18.2f}" for value in middle.values()) + f"{share:>18.0%}")


if __name__ == "__main__":
    main()
