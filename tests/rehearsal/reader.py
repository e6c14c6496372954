"""How much could be had from the very same notes: a reader trained on other opponents picks the tactics.

Ridge regression from features to what each tactic adds, fitted on one half of the opponents and judged on the other,
both ways round. It knows nothing of tennis; whatever it reaches is the least that can be reached.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tests.rehearsal.one_opponent import COUNT
from tests.rehearsal.outcome import Rehearsed, Stage
from tests.rehearsal.world.tactics import CHANGES, options

PENALTY: Final = 300.0
DRAWN: Final = 6.0
FEWEST: Final = 40  # opponents below which nothing is trained

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Readable:
    """One stage: shares of the best gain reached by readers of own ratings alone, of beliefs too, of the truth too.

    `counts` is what a reader of own ratings and of the counts themselves reaches, which are kept after the set only.
    """

    stage: Stage
    own: float
    beliefs: float
    truths: float
    counts: float | None


def readable(all_: Sequence[Rehearsed], stage: Stage) -> Readable | None:
    """What trained readers reach at a stage; None with too few opponents."""
    if len(all_) < FEWEST:
        return None
    gains, best = (
        np.array([r.singles for r in all_]),
        np.array([r.stages[stage].best - r.stages[stage].plain for r in all_]),
    )
    own = np.array([r.own for r in all_])

    def reached(*features: Floats) -> float:
        return float(_picked(np.hstack((own, *features)), gains, COUNT[stage]).sum() / best.sum())

    def of_each(feature: Callable[[Rehearsed], list[float]]) -> Floats:
        return np.array([feature(r) for r in all_])

    def beliefs(r: Rehearsed) -> list[float]:
        return [float(np.log(b.probability / (1 - b.probability))) for b in r.stages[stage].believed]

    def truths(r: Rehearsed) -> list[float]:
        return [float(b.holds) for b in r.stages[stage].believed]

    counts = reached(_shares(all_)) if stage is Stage.SET else None
    return Readable(stage, reached(), reached(of_each(beliefs)), reached(of_each(truths)), counts)


def _shares(all_: Sequence[Rehearsed]) -> Floats:
    """Every share counted of an opponent, drawn to the mean over all by `DRAWN` chances, as the distance from it."""
    keys = sorted({(what, wing, serve) for r in all_ for what, wing, serve, _, _ in r.counts}, key=str)
    place = {key: column for column, key in enumerate(keys)}
    hits, chances = (np.zeros((len(all_), len(keys))) for _ in range(2))
    for row, r in enumerate(all_):
        for what, wing, serve, hit, of in r.counts:
            hits[row, place[what, wing, serve]] += hit
            chances[row, place[what, wing, serve]] += of
    mean = hits.sum(axis=0) / np.maximum(chances.sum(axis=0), 1.0)
    return np.asarray((hits + DRAWN * mean) / (chances + DRAWN) - mean)


def _picked(features: Floats, gains: Floats, count: int) -> Floats:
    """What the tactics picked for each opponent add, by a reader trained on the other half."""
    found = np.zeros(len(features))
    half = np.arange(len(features)) % 2 == 0
    for train in (half, ~half):
        predicted = _predicted(features, gains, train)
        for at in np.flatnonzero(~train):
            found[at] = sum(gains[at, i] for i in _choice(predicted[at], count))
    return found


def _predicted(features: Floats, gains: Floats, train: NDArray[np.bool_]) -> Floats:
    middle, spread = features[train].mean(axis=0), features[train].std(axis=0) + 1e-9
    scaled = (features - middle) / spread
    known = scaled[train]
    usual = gains[train].mean(axis=0)
    weights = np.linalg.solve(known.T @ known + PENALTY * np.eye(known.shape[1]), known.T @ (gains[train] - usual))
    return np.asarray(scaled @ weights + usual)


def _choice(predicted: Floats, count: int) -> list[int]:
    """Places of the best predicted tactics that promise anything, each tactic once; reading serves is left out."""
    chosen: dict[str, int] = {}
    for i in np.argsort(-predicted):
        name = options()[i].tactic
        if predicted[i] > 0 and name not in chosen and not CHANGES[name].reads:
            chosen[name] = int(i)
    return list(chosen.values())[:count]
