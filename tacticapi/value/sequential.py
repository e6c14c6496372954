"""Wald's sequential probability ratio test: how many more tries would tell one share from another.

A. Wald, Sequential tests of statistical hypotheses, Annals of Mathematical Statistics 16 (1945), 117-186. Bounds and
expected numbers are Wald's approximations: they leave out by how much the last try oversteps a bound.
"""

from dataclasses import dataclass
from math import ceil, exp, log, log1p

from scipy.special import expit


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
