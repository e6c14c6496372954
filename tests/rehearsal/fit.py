"""Defaults that this world would suggest: priors, shares of counts, and the best single strength of evidence.

Fitted on seeds of their own and printed, never written anywhere.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.trait import Term, TermForm, Trait
from tests.rehearsal.outcome import Rehearsed, Stage

FEWEST: Final = 200  # chances a share needs, among holders and others, before it is fitted
STRENGTHS: Final = np.linspace(0.0, 4.0, 81)
KAPPAS: Final = (3.0, 6.0, 12.0, 24.0, 40.0, 80.0, 160.0)

Counts = dict[tuple[str, str | None, str | None], list[float]]


@dataclass(frozen=True, slots=True)
class FittedShare:
    """A share term: what the rulebook assumes and what this world shows, by whether the trait holds."""

    trait: str
    wing: str | None
    what: str
    assumed: tuple[float, float, float]
    fitted: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class FittedStrength:
    """The factor on all log-odds from the prior that makes the truth most likely at a stage; 1 is right as it is."""

    stage: Stage
    factor: float


def fitted_strength(all_: Sequence[Rehearsed], stage: Stage) -> FittedStrength:
    """Maximum likelihood of one factor on every belief's distance from its own base rate in this world."""
    believed = [b for r in all_ for b in r.stages[stage].believed]
    rates: dict[tuple[str, str | None], list[bool]] = defaultdict(list)
    for b in believed:
        rates[b.trait, b.wing].append(b.holds)
    base = np.array([_logit(np.clip(np.mean(rates[b.trait, b.wing]), 0.01, 0.99)) for b in believed])
    moved = np.array([_logit(b.probability) - _logit(b.prior) for b in believed])
    true = np.array([b.holds for b in believed], dtype=np.float64)
    likely = [_log_likelihood(base + factor * moved, true) for factor in STRENGTHS]
    return FittedStrength(stage, float(STRENGTHS[int(np.argmax(likely))]))


def _logit(p: float | np.float64) -> float:
    return float(np.log(p / (1.0 - p)))


def _log_likelihood(log_odds: NDArray[np.float64], true: NDArray[np.float64]) -> float:
    return float(-np.logaddexp(0.0, np.where(true == 1, -log_odds, log_odds)).sum())


def fitted_shares(all_: Sequence[Rehearsed], rulebook: Rulebook) -> list[FittedShare]:
    """Shares and spread of every counted term with enough chances, those furthest from the assumed first."""
    holds: Mapping[tuple[str, str | None], list[bool]] = defaultdict(list)
    for r in all_:
        for b in r.stages[Stage.SET].believed:
            holds[b.trait, b.wing].append(b.holds)
    counts = [_by_key(r) for r in all_]
    found = []
    for (name, wing), true in holds.items():
        trait = rulebook.traits[name]
        for term in trait.terms:
            if term.form is TermForm.SHARES and not term.options and term.moves in (None, wing):
                fitted = _fit(trait, term, wing, true, counts)
                found += [fitted] if fitted else []
    return sorted(found, key=lambda f: -abs((f.fitted[0] - f.fitted[1]) - (f.assumed[0] - f.assumed[1])))


def _by_key(rehearsed: Rehearsed) -> Counts:
    totals: Counts = {}
    for what, wing, serve, a, b in rehearsed.counts:
        totals[what, wing, serve] = [a, b]
    return totals


def _fit(
    trait: Trait, term: Term, wing: str | None, true: Sequence[bool], counts: Sequence[Counts]
) -> FittedShare | None:
    wanted = wing if term.wing == "same" else term.wing
    pairs: dict[bool, list[tuple[float, float]]] = {True: [], False: []}
    for holds, tallies in zip(true, counts, strict=True):
        fitting = [
            ab for (what, w, s), ab in tallies.items()
            if what == term.what and wanted in (None, w) and term.serve in (None, s)
        ]  # fmt: skip
        if fitting:
            pairs[holds].append((sum(x[0] for x in fitting), sum(x[1] for x in fitting)))
    if any(sum(n for _, n in pairs[side]) < FEWEST for side in (True, False)):
        return None
    shares = [sum(a for a, _ in pairs[side]) / sum(n for _, n in pairs[side]) for side in (True, False)]
    kappa = _best_kappa(pairs, shares)
    return FittedShare(
        trait.id, wing, term.what, (term.p_if_true, term.p_if_false, term.kappa), (shares[0], shares[1], kappa)
    )


def _best_kappa(pairs: Mapping[bool, Sequence[tuple[float, float]]], shares: Sequence[float]) -> float:
    """The Beta size that makes the counts most likely, by moments' spread over a short list of sizes."""

    def spread(kappa: float) -> float:
        total = 0.0
        for side, share in zip((True, False), shares, strict=True):
            a, n = (np.array([pair[i] for pair in pairs[side]]) for i in (0, 1))
            variance = np.maximum(1e-9, n * share * (1 - share) * (1 + (n - 1) / (kappa + 1)))
            total += float((np.log(variance) + (a - n * share) ** 2 / variance).sum())
        return total

    return min(KAPPAS, key=spread)
