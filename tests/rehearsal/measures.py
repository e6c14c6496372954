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
SEVEN: Final = (0.65, 0.75)  # claimed to pay against 7 of 10

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Calibrated:
    """The Brier scores of some beliefs and of their priors, and the calibration error of the beliefs."""

    brier: float
    prior: float
    error: float


@dataclass(frozen=True, slots=True)
class Honest:
    """How honest beliefs in weak strokes and in the weaker wing are."""

    strokes: Calibrated
    wing_gap: Calibrated


@dataclass(frozen=True, slots=True)
class Share:
    """A share of the best possible gain, and the share of opponents against whom it does harm."""

    captured: float
    harm: float


@dataclass(frozen=True, slots=True)
class Reached:
    """What the advice, free choice by its prices and free choice by the old table reach.

    `half_width` is half the 95 % bootstrap interval of the advice's captured share over opponents. `coverage` is the
    share of gain intervals that hold the true gain; None if nothing was claimed.
    """

    advised: Share
    free: Share
    old: Share
    half_width: float
    coverage: float | None


@dataclass(frozen=True, slots=True)
class Claimed:
    """The tactics whose claimed chance to pay lies in a range: how many, what was claimed, the part that truly gain."""

    low: float
    high: float
    number: int
    claimed: float
    gained: float


def honest(all_: Sequence[Rehearsed], stage: Stage) -> Honest:
    """Return how honest the beliefs are at a stage."""
    at = [r.stages[stage] for r in all_]
    strokes = [b for one in at for b in one.believed if b.trait in STROKES]
    return Honest(_calibrated(strokes), _calibrated([one.backhand_weaker for one in at]))


def _calibrated(believed: Sequence[Believed]) -> Calibrated:
    return Calibrated(*_brier(believed), calibration_error((b.probability, b.true) for b in believed))


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


def claimed(all_: Iterable[Rehearsed]) -> tuple[Claimed, ...]:
    """Return how claimed chances to pay hold, at all stages: around 7 in 10, then by tenths of the scale."""
    reaches = (at.reach for r in all_ for at in r.stages.values() if at.reach)
    held = [(h.line.pays_in, h.true > 0) for reach in reaches for h in reach.held if h.line.pays_in is not None]
    tenths = [(n / BINS, (n + 1) / BINS) for n in range(BINS)]
    found = []
    for low, high in (SEVEN, *tenths):
        if inside := [one for one in held if low <= one[0] < high or one[0] == high == 1.0]:
            found.append(Claimed(low, high, len(inside), *np.array(inside, dtype=np.float64).mean(axis=0).tolist()))
    return tuple(found)


def reached(all_: Sequence[Rehearsed], stage: Stage, rng: np.random.Generator) -> Reached | None:
    """Return how far the players get at a stage; None if only beliefs were rehearsed."""
    at = [reach for r in all_ if (reach := r.stages[stage].reach)]
    if not at:
        return None
    advised, free, old, best = (_gains(at, name) for name in ("advised", "free", "old", "best"))
    inside = [
        h.line.match_low <= h.match_true <= h.line.match_high
        for reach in at
        for h in reach.held
        if h.line.match_low is not None and h.line.match_high is not None
    ]
    return Reached(
        _share(advised, best), _share(free, best), _share(old, best),
        half_width=_half_width(advised, best, rng), coverage=float(np.mean(inside)) if inside else None,
    )  # fmt: skip


def _share(gains: Floats, best: Floats) -> Share:
    return Share(float(gains.sum() / best.sum()), float((gains < -HARM).mean()))


def _gains(at: Sequence[Reach], name: str) -> Floats:
    return np.array([getattr(reach, name) - reach.plain for reach in at])


def _half_width(part: Floats, whole: Floats, rng: np.random.Generator) -> float:
    draws = rng.integers(0, len(part), (RESAMPLES, len(part)))
    low, high = np.percentile(part[draws].sum(axis=1) / whole[draws].sum(axis=1), (2.5, 97.5))
    return float(high - low) / 2
