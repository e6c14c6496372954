"""Points won without a tactic, whether a tactic that was tried does worse, and whether a share changed between games.

The baseline is a prior by level, updated by points played. `SequentialTest` is Wald's sequential probability ratio test
(A. Wald, Sequential tests of statistical hypotheses, Annals of Mathematical Statistics 16 (1945), 117-186): how many
more tries would tell one share from another. Bounds and expected numbers are Wald's approximations: they leave out by
how much the last try oversteps a bound. `change_point` sums exactly over every game after which a share may have
changed. Before the change and after it the counts are Beta-Binomial with shares of their own, without a change with one
share (textbook forms). That two shares can follow any counts is paid for by the Beta prior of the second. Priors are
model defaults.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, exp, log, log1p
from typing import Any

import numpy as np
from scipy.special import betainc, expit

from tacticapi.domain.rules import Tactic, Touches
from tacticapi.domain.situation import PointsPlayed, Situation, Tries
from tacticapi.scoring.posterior import beta_nodes

NODES = 96  # exact for whole counts whose sum stays below 192, within 5e-7 for any others up to 80


@dataclass(frozen=True, slots=True)
class Beta:
    """A Beta posterior of a chance; `a` wins and `b` losses, both above 0."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        """Expected chance."""
        return self.a / (self.a + self.b)


@dataclass(frozen=True, slots=True)
class Baseline:
    """Posteriors of the chance to win a point on own serve and on return."""

    serve: Beta
    return_: Beta

    def of(self, touches: Touches) -> Beta:
        """The posterior of the points that a tactic touches; for both, of all points together."""
        match touches:
            case Touches.SERVE:
                return self.serve
            case Touches.RETURN:
                return self.return_
            case _:
                return Beta(self.serve.a + self.return_.a, self.serve.b + self.return_.b)


def baseline(situation: Situation, defaults: Mapping[str, Any]) -> Baseline:
    """Return the baseline of a situation."""
    return posteriors(situation.context.get("level_gap"), situation.points_played, defaults)


def posteriors(level_gap: str | None, played: PointsPlayed | None, defaults: Mapping[str, Any]) -> Baseline:
    """Return the prior of a level gap (None: level), updated by own points. The prior shares are model defaults."""
    prior = defaults["baseline"]
    level = level_gap or "level"
    won = (played.serve_won, played.return_won) if played else (0, 0)
    of = (played.serve_of, played.return_of) if played else (0, 0)
    serve, return_ = (
        Beta(prior["points"] * share + w, prior["points"] * (1.0 - share) + n - w)
        for share, w, n in zip((prior["serve"][level], prior["return"][level]), won, of, strict=True)
    )
    return Baseline(serve, return_)


@dataclass(frozen=True, slots=True)
class SequentialTest:
    """A test of the share `p0` against the share `p1` (both between 0 and 1, not equal).

    `alpha` is the chance to decide for p1 though p0 is true, `beta` that to decide for p0 though p1 is true.
    """

    p0: float
    p1: float
    alpha: float
    beta: float

    @property
    def success(self) -> float:
        """What a success adds to the log odds of p1."""
        return log(self.p1) - log(self.p0)

    @property
    def failure(self) -> float:
        """What a failure adds to the log odds of p1."""
        return log1p(-self.p1) - log1p(-self.p0)

    @property
    def upper(self) -> float:
        """Log odds from which on p1 is taken."""
        return log((1.0 - self.beta) / self.alpha)

    @property
    def lower(self) -> float:
        """Log odds down to which p0 is taken."""
        return log(self.beta / (1.0 - self.alpha))

    def log_odds(self, won: float, tried: float) -> float:
        """The log odds of p1 against p0 after so many successes out of so many tries."""
        return won * self.success + (tried - won) * self.failure

    def expected(self, p: float, start: float = 0.0) -> float:
        """Expected number of further tries until a bound is reached, if the share is `p` (p0 or p1).

        `start` is the log odds so far; 0 once they are at or beyond a bound.
        """
        if not self.lower < start < self.upper:
            return 0.0
        sign = 1.0 if p == self.p0 else -1.0  # exp(sign * log odds) is a martingale
        at, high, low = (exp(sign * x) for x in (start, self.upper, self.lower))
        reaches_upper = (at - low) / (high - low)
        end = reaches_upper * self.upper + (1.0 - reaches_upper) * self.lower
        return (end - start) / (p * self.success + (1.0 - p) * self.failure)

    def more(self, won: float, tried: float) -> int:
        """Expected number of further tries until the test decides, averaged over which of the shares is true.

        Before any try both are taken as equally likely.
        """
        start = self.log_odds(won, tried)
        if_p1, if_p0 = (
            float(expit(odds)) * self.expected(p, start) for odds, p in ((start, self.p1), (-start, self.p0))
        )
        return ceil(if_p1 + if_p0)


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
            usual = base.of(tactics[tried.tactic].touches)
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
