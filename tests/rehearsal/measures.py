"""What many rehearsals amount to: shares of the best gain, harm, and how honest beliefs and gains are."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tests.rehearsal.outcome import AtStage, Believed, ByPrice, Rehearsed, Stage

HARM: Final = 0.002  # chance to win a point below the sensible plan that counts as harm: a point in four matches
RESAMPLES: Final = 1000
BINS: Final = 10


@dataclass(frozen=True, slots=True)
class Interval:
    """An estimate with its 95 % bootstrap interval over opponents."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Reached:
    """One stage: shares of the best possible gain (advised, drawn at random), harm of both, mean gains a point.

    `on_court` is the share of suggestions that the world can express, `by_price` the shares of the best gain that the
    best prices alone would reach.
    """

    stage: Stage
    advised: Interval
    drawn: Interval
    harm: Interval
    drawn_harm: float
    gain: float
    best_gain: float
    on_court: float
    by_price: ByPrice


@dataclass(frozen=True, slots=True)
class Honest:
    """One stage: calibration error and Brier score of all beliefs, Brier score of the priors, coverage of gains.

    `curve` is (mean probability said, share that held, how many) by tenths of the scale.
    """

    stage: Stage
    calibration_error: float
    brier: float
    brier_of_priors: float
    coverage: float
    intervals: int
    curve: tuple[tuple[float, float, int], ...]


@dataclass(frozen=True, slots=True)
class TacticRecord:
    """A tactic at one stage: times suggested, mean gain a point claimed and true."""

    tactic: str
    times: int
    claimed: float
    true: float
    on_court: bool


@dataclass(frozen=True, slots=True)
class TraitRecord:
    """A belief: the prior assumed, the share of opponents for whom it holds, Brier scores of prior and belief."""

    trait: str
    wing: str | None
    prior: float
    holds: float
    mean: float
    brier_of_prior: float
    brier: float
    sharpness: float


def reached(all_: Sequence[Rehearsed], stage: Stage, rng: np.random.Generator) -> Reached:
    """How far the players get at a stage."""
    at = [r.stages[stage] for r in all_]
    advised, drawn, best = (np.array([getattr(s, name) - s.plain for s in at]) for name in ("advised", "drawn", "best"))
    shown = [s.on_court for a in at for s in a.suggested]
    return Reached(
        stage, _ratio(advised, best, rng), _ratio(drawn, best, rng), _share(advised < -HARM, rng),
        float((drawn < -HARM).mean()), float(advised.mean()), float(best.mean()),
        float(np.mean(shown)) if shown else 0.0, _by_price(at, float(best.sum())),
    )  # fmt: skip


def _by_price(at: Sequence[AtStage], best: float) -> ByPrice:
    beliefs, truths, singles = (
        sum(getattr(one.by_price, name) - one.plain for one in at) / best for name in ("beliefs", "truths", "singles")
    )
    return ByPrice(beliefs, truths, singles)


def _ratio(part: NDArray[np.float64], whole: NDArray[np.float64], rng: np.random.Generator) -> Interval:
    draws = rng.integers(0, len(part), (RESAMPLES, len(part)))
    ratios = part[draws].sum(axis=1) / whole[draws].sum(axis=1)
    low, high = np.percentile(ratios, (2.5, 97.5))
    return Interval(float(part.sum() / whole.sum()), float(low), float(high))


def _share(found: NDArray[np.bool_], rng: np.random.Generator) -> Interval:
    return _ratio(found.astype(np.float64), np.ones(len(found)), rng)


def honest(all_: Sequence[Rehearsed], stage: Stage) -> Honest:
    """How honest the beliefs and the gain intervals are at a stage."""
    believed = [b for r in all_ for b in r.stages[stage].believed]
    said = np.array([b.probability for b in believed])
    true = np.array([b.holds for b in believed], dtype=np.float64)
    priors = np.array([b.prior for b in believed])
    gains = [s for r in all_ for s in r.stages[stage].suggested if s.match_true is not None]
    inside = [s.match_low <= s.match_true <= s.match_high for s in gains if None not in (s.match_low, s.match_high)]  # type: ignore[operator]
    curve = reliability(said, true)
    return Honest(
        stage, calibration_error(curve), brier(said, true), brier(priors, true),
        float(np.mean(inside)) if inside else float("nan"), len(inside), curve,
    )  # fmt: skip


def reliability(said: NDArray[np.float64], true: NDArray[np.float64]) -> tuple[tuple[float, float, int], ...]:
    """For each tenth of the scale that is used: mean probability said, share that held, how many."""
    bins = np.minimum((said * BINS).astype(int), BINS - 1)
    used = [bins == k for k in range(BINS) if (bins == k).any()]
    return tuple((float(said[b].mean()), float(true[b].mean()), int(b.sum())) for b in used)


def calibration_error(curve: Sequence[tuple[float, float, int]]) -> float:
    """Mean distance between what was said and what held, weighted by how often each was said (Naeini et al. 2015)."""
    total = sum(n for _, _, n in curve)
    return sum(n * abs(said - held) for said, held, n in curve) / total


def brier(said: NDArray[np.float64], true: NDArray[np.float64]) -> float:
    """Mean squared distance between the probability and what happened (Brier 1950)."""
    return float(np.mean((said - true) ** 2))


def tactic_records(all_: Sequence[Rehearsed], stage: Stage) -> list[TacticRecord]:
    """Every tactic suggested at a stage, the most frequent first."""
    found: dict[str, list[tuple[float, float, bool]]] = defaultdict(list)
    for r in all_:
        for s in r.stages[stage].suggested:
            found[s.tactic].append((s.claimed, s.true, s.on_court))
    records = [
        TacticRecord(name, len(v), float(np.mean([x[0] for x in v])), float(np.mean([x[1] for x in v])), v[0][2])
        for name, v in found.items()
    ]
    return sorted(records, key=lambda t: (-t.times, t.tactic))


def trait_records(all_: Sequence[Rehearsed], stage: Stage) -> list[TraitRecord]:
    """Every belief with a meaning in the world, in the order of the rulebook."""
    found: dict[tuple[str, str | None], list[Believed]] = defaultdict(list)
    for r in all_:
        for b in r.stages[stage].believed:
            found[b.trait, b.wing].append(b)
    return [_trait(key, beliefs) for key, beliefs in found.items()]


def _trait(key: tuple[str, str | None], beliefs: Sequence[Believed]) -> TraitRecord:
    said = np.array([b.probability for b in beliefs])
    true = np.array([b.holds for b in beliefs], dtype=np.float64)
    prior = beliefs[0].prior
    apart = said[true == 1].mean() - said[true == 0].mean() if 0 < true.mean() < 1 else 0.0
    return TraitRecord(
        *key, prior, float(true.mean()), float(said.mean()), brier(np.full(len(true), prior), true), brier(said, true),
        float(apart),
    )  # fmt: skip
