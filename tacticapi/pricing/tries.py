"""What the tries of a tactic say: one posterior of its gain a tried point, for its price and for the verdict.

Normal by normal (textbook form): the prior is the price with room for the day; the tries bring the share won less what
is usually won without it, on the serve or return on which it was tried.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from tacticapi.domain.rules import Touches
from tacticapi.domain.situation import Tries
from tacticapi.pricing.baseline import Baseline

SIDES = {"serve": Touches.SERVE, "return": Touches.RETURN}


@dataclass(frozen=True, slots=True)
class Judged:
    """What the tries of one tactic say: `usual` share won without it, and mean and spread of its gain a tried point."""

    tactic: str
    tried: int
    won: int
    usual: float
    mean: float
    spread: float

    @property
    def worse(self) -> float:
        """The chance (0 to 1) that it does worse than going without it."""
        return float(ndtr(-self.mean / self.spread))


def judged(tactic: str, tries: Sequence[Tries], touches: Touches, base: Baseline, prior: tuple[float, float]) -> Judged:
    """Return what the tries of one tactic say. `prior`: mean and spread of its gain before, points a tried point."""
    mean, spread = prior
    tried, won = sum(one.tried for one in tries), sum(one.won for one in tries)
    if not tried:
        return Judged(tactic, 0, 0, base.of(touches).mean, mean, spread)
    expected = doubt = 0.0
    for side in dict.fromkeys(SIDES.get(one.on or "", touches) for one in tries):
        of_side = [one for one in tries if SIDES.get(one.on or "", touches) is side]
        times = sum(one.tried for one in of_side)
        without = base.without(side, times, sum(one.won for one in of_side))
        expected += times * without.mean
        doubt += times * times * without.variance + times * without.mean * (1.0 - without.mean)
    weight = spread * spread / (spread * spread + doubt / (tried * tried))
    gain = (won - expected) / tried
    after = (1.0 - weight) * mean + weight * gain
    return Judged(tactic, tried, won, expected / tried, after, spread * float(np.sqrt(1.0 - weight)))
