"""Times the stages of a recommendation for `run`."""

import random
import time
from collections.abc import Callable, Sequence
from statistics import median
from typing import Any

from bodies import body

from tacticapi.advice import Adviser, recommend
from tacticapi.api.situations import read_situation
from tacticapi.domain.situation import Situation
from tacticapi.pricing.match_gain import MatchPricer

STAGES = ("score", "grid", "evidence", "facts", "matcher", "price and rank", "percentiles", "looks", "words")
PRICING = ("grid", "price and rank", "percentiles")


class Stages:
    """Times recommendations and the stages within each."""

    def __init__(self, adviser: Adviser) -> None:
        """From now on the adviser's stages are timed, whoever asks it."""
        self._adviser = adviser
        self._spent = dict.fromkeys(STAGES, 0.0)
        for owner, name, stage in (
            (recommend, "read_score", "score"),
            (recommend, "MatchPricer", "grid"),
            (adviser.evidence, "believe", "evidence"),
            (adviser._facts, "build", "facts"),
            (adviser.matcher, "match", "matcher"),
            (adviser, "_select", "price and rank"),
            (MatchPricer, "gains", "percentiles"),
            (adviser._looks, "look_for", "looks"),
        ):
            setattr(owner, name, self._timed(getattr(owner, name), stage))

    def _timed(self, task: Callable[..., Any], stage: str) -> Callable[..., Any]:
        def timed(*args: Any, **kwargs: Any) -> Any:
            start = time.thread_time()
            try:
                return task(*args, **kwargs)
            finally:
                self._spent[stage] += time.thread_time() - start

        return timed

    def medians(self, asked: Sequence[Situation]) -> dict[str, float]:
        """Median milliseconds in all and by stage; what is spent outside the others is the words."""
        self._adviser.recommend(asked[0])
        runs = [self._one(situation) for situation in asked]
        return {name: 1000 * median(run[name] for run in runs) for name in ("total", *STAGES)}

    def _one(self, situation: Situation) -> dict[str, float]:
        self._spent = dict.fromkeys(STAGES, 0.0)
        start = time.thread_time()
        self._adviser.recommend(situation)
        total = time.thread_time() - start
        self._spent["words"] = total - sum(self._spent.values())
        return {"total": total, **self._spent}


def situations(adviser: Adviser, size: int, number: int) -> list[Situation]:
    """So many situations with so many observations each, all different."""
    draw = random.Random(size)
    return [read_situation(body(draw, adviser.rulebook, size), adviser.rulebook) for _ in range(number)]


def shares(medians: dict[str, float]) -> dict[str, float]:
    """What parts of a recommendation the matcher, pricing and the looks take."""
    parts = {"matcher": ("matcher",), "pricing": PRICING, "looks": ("looks",)}
    return {name: sum(medians[stage] for stage in stages) / medians["total"] for name, stages in parts.items()}
