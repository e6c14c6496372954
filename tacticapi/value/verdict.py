"""Whether a tactic that was tried does worse than going without it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import betainc

from tacticapi.domain.situation import Situation, Tries
from tacticapi.domain.tactic import Tactic
from tacticapi.scoring import beta_nodes
from tacticapi.value.baseline import Baseline, Beta

NODES = 64  # exact for whole counts whose sum stays below 128


@dataclass(frozen=True, slots=True)
class TryVerdict:
    """What the tries of one tactic say: the chance (0 to 1) that it does worse than the baseline share."""

    tries: Tries
    worse: float
    baseline: float
    enough: bool


def judge_tries(
    situation: Situation, tactics: Mapping[str, Tactic], base: Baseline, defaults: Mapping[str, Any]
) -> tuple[TryVerdict, ...]:
    """Judge every tactic tried at least once, the likeliest to do worse first. The tries start from a flat prior."""
    verdicts = []
    for tried in situation.tries:
        if tried.tried:
            usual = base.of(tactics[tried.tactic].effect.on)
            worse = chance_below(Beta(1 + tried.won, 1 + tried.tried - tried.won), usual)
            verdicts.append(TryVerdict(tried, worse, usual.mean, tried.tried >= defaults["plan"]["tries"]))
    return tuple(sorted(verdicts, key=lambda v: (-v.worse, v.tries.tactic)))


def chance_below(one: Beta, other: Beta) -> float:
    """P(X < Y) for independent X and Y with these posteriors: the mean of P(X < y) over Y, by Gauss-Jacobi."""
    nodes, weights = beta_nodes(other.a, other.b, NODES)
    return float(np.dot(weights, betainc(one.a, one.b, nodes)))
