"""What many rehearsals amount to: shares of the best gain, harm, and how honest beliefs and claims are."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tests.rehearsal.outcome import Believed, Reach, Rehearsed, Stage
from tests.rehearsal.world.truths import STROKES

HARM: Final = 0.002  # chance to win a point below the sensible plan that counts as harm: a point in four matches
RESAMPLES: Final = 1000
BINS: Final = 10

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Honest:
    """Brier scores of beliefs in weak strokes and in the weaker wing, of their priors, and the calibration error."""

    strokes: float
    strokes_prior: float
    wing_gap: float
    wing_gap_prior: float
    calibration_error: float


@dataclass(frozen=True, slots=True)
class Reached:
    """Shares of the best possible gain and of opponents harmed, by the advice and by its prices alone.

    `half_width` is half the 95 % bootstrap interval of the captured share over opponents. `coverage` is the share of
    gain intervals that hold the true gain, `pays_in_error` the calibration error of the chances claimed that a tactic
    pays; both None if nothing was claimed.
    """

    captured: float
    half_width: float
    harm: float
    by_price: float
    harm_by_price: float
    coverage: float | None
    pays_in_error: float | None


def honest(all_: Sequence[Rehearsed], stage: Stage) -> Honest:
    """Return how honest the beliefs are at a stage."""
    at = [r.stages[stage] for r in all_]
    believed = [b for one in at for b in one.believed]
    strokes, gaps = [b for b in believed if b.trait in STROKES], [one.backhand_weaker for one in at]
    error = calibration_error((b.probability, b.true) for b in believed)
    return Honest(*_brier(strokes), *_brier(gaps), error)


def _brier(believed: Sequence[Believed]) -> tuple[float, float]:
    """Return the mean squared distance from the truth of beliefs and of their priors (Brier 1950)."""
    true = np.array([b.true for b in believed], dtype=np.float64)
    said, priors = (np.array([getattr(b, name) for b in believed]) for name in ("probability", "prior"))
    return float(np.mean((said - true) ** 2)), float(np.mean((priors - true) ** 2))


def calibration_error(said_and_true: Iterable[tuple[float, bool]]) -> float:
    """Return the mean distance of what was said from what held, by tenths of the scale (Naeini et al. 2015)."""
    said, true = np.array(list(said_and_true), dtype=np.float64).T
    bins = np.minimum((said * BINS).astype(int), BINS - 1)
    apart = np.bincount(bins, said - true, minlength=BINS)
    return float(np.abs(apart).sum() / len(said))


def reached(all_: Sequence[Rehearsed], stage: Stage, rng: np.random.Generator) -> Reached | None:
    """Return how far the players get at a stage; None if only beliefs were rehearsed."""
    at = [reach for r in all_ if (reach := r.stages[stage].reach)]
    if not at:
        return None
    advised, by_price, best = (_gains(at, name) for name in ("advised", "by_price", "best"))
    held = [h for reach in at for h in reach.held]
    inside = [
        h.line.match_low <= h.match_true <= h.line.match_high
        for h in held
        if h.line.match_low is not None and h.line.match_high is not None
    ]
    claims = [(h.line.pays_in, h.true > 0) for h in held if h.line.pays_in is not None]
    return Reached(
        float(advised.sum() / best.sum()), _half_width(advised, best, rng), float((advised < -HARM).mean()),
        float(by_price.sum() / best.sum()), float((by_price < -HARM).mean()),
        float(np.mean(inside)) if inside else None, calibration_error(claims) if claims else None,
    )  # fmt: skip


def _gains(at: Sequence[Reach], name: str) -> Floats:
    return np.array([getattr(reach, name) - reach.plain for reach in at])


def _half_width(part: Floats, whole: Floats, rng: np.random.Generator) -> float:
    draws = rng.integers(0, len(part), (RESAMPLES, len(part)))
    low, high = np.percentile(part[draws].sum(axis=1) / whole[draws].sum(axis=1), (2.5, 97.5))
    return float(high - low) / 2
