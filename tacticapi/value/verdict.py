"""Whether a tactic that was tried does worse than going without it, and how many more tries would tell."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import betainc

from tacticapi.domain.situation import Situation, Tries
from tacticapi.domain.tactic import Tactic
from tacticapi.scoring import beta_nodes
from tacticapi.value.baseline import Baseline, Beta
from tacticapi.value.sequential import SequentialTest

NODES = 96  # exact for whole counts whose sum stays below 192, within 5e-7 for any others up to 80


@dataclass(frozen=True, slots=True)
class TryVerdict:
    """What the tries of one tactic say.

    `worse` is the chance (0 to 1) that it does worse than going without it, which wins the share `baseline`;
    `enough` whether it was tried often enough to be changed for that; `more` how many more tries would likely tell.
    """

    tries: Tries
    worse: float
    baseline: float
    enough: bool
    more: int

    @property
    def better(self) -> float:
        """The chance (0 to 1) that it does better than going without it."""
        return 1.0 - self.worse


def judge_tries(
    situation: Situation, tactics: Mapping[str, Tactic], base: Baseline, defaults: Mapping[str, Any]
) -> tuple[TryVerdict, ...]:
    """Judge every tactic tried at least once, the likeliest to do worse first. The tries start from a flat prior."""
    verdicts = []
    needed = int(defaults["plan"]["tries"])
    for tried in situation.tries:
        if tried.tried:
            usual = base.of(tactics[tried.tactic].effect.on)
            worse = chance_below(Beta(1 + tried.won, 1 + tried.tried - tried.won), usual)
            more = max(tries_to_tell(tried, usual.mean, defaults["plan"]["test"]), needed - tried.tried)
            verdicts.append(TryVerdict(tried, worse, usual.mean, tried.tried >= needed, more))
    return tuple(sorted(verdicts, key=lambda v: (-v.worse, v.tries.tactic)))


def tries_to_tell(tries: Tries, usual: float, test: Mapping[str, float]) -> int:
    """How many more tries a sequential test needs on average to tell the usual share from one worse by the gap.

    A share smaller than two gaps is told from its half.
    """
    worse = max(usual - test["gap"], usual / 2)
    return SequentialTest(usual, worse, test["error"], test["error"]).more(tries.won, tries.tried)


def chance_below(one: Beta, other: Beta) -> float:
    """P(X < Y), 0 to 1, for independent X and Y with these posteriors, by Gauss-Jacobi over the surer of the two."""
    if one.a + one.b > other.a + other.b:
        return 1.0 - chance_below(other, one)
    nodes, weights = beta_nodes(other.a, other.b, NODES)
    return min(1.0, max(0.0, float(np.dot(weights, betainc(one.a, one.b, nodes)))))
