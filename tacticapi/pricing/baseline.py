"""Estimate the share of points that we usually win, and judge tries against that share.

Tries are judged with a normal prior and likelihood (textbook form). The prior is the price, widened by how much
execution varies from day to day; the data are the share won minus the usual share, on serve or on return, depending on
where the tactic was tried.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.special import ndtr

from tacticapi.domain.rules import Touches
from tacticapi.domain.situation import PointsPlayed, Situation, Tries


@dataclass(frozen=True, slots=True)
class Beta:
    """A Beta posterior for a chance, from `a` wins and `b` losses, both above 0."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        """Return the expected chance."""
        return self.a / (self.a + self.b)

    @property
    def variance(self) -> float:
        """Return the chance's variance."""
        return self.mean * (1.0 - self.mean) / (self.a + self.b + 1.0)


@dataclass(frozen=True, slots=True)
class Baseline:
    """Posteriors for our chance of winning a point on serve and on return."""

    serve: Beta
    return_: Beta
    points: float = 0.0  # how many points each prior is worth

    def of(self, touches: Touches) -> Beta:
        """Return the posterior for the points that a tactic affects: serve, return, or all points together."""
        match touches:
            case Touches.SERVE:
                return self.serve
            case Touches.RETURN:
                return self.return_
            case _:
                return Beta(self.serve.a + self.return_.a, self.serve.b + self.return_.b)

    def without(self, touches: Touches, tried: float, won: float) -> Beta:
        """Return the posterior without these points; unchanged if fewer points were posted than tried."""
        all_, least = self.of(touches), self.points * (2 if touches is Touches.BOTH else 1)
        rest = Beta(all_.a - won, all_.b - (tried - won))
        return rest if rest.a + rest.b >= least and min(rest.a, rest.b) > 0.0 else all_


def baseline(situation: Situation, defaults: Mapping[str, Any]) -> Baseline:
    """Return the baseline for a situation."""
    return posteriors(situation.context.get("level_gap"), situation.points_played, defaults)


def posteriors(level_gap: str | None, played: PointsPlayed | None, defaults: Mapping[str, Any]) -> Baseline:
    """Return the prior for a level gap (None: as level), updated by our points. The prior shares are model defaults."""
    prior = defaults["baseline"]
    level = level_gap or "level"
    won = (played.serve_won, played.return_won) if played else (0, 0)
    of = (played.serve_of, played.return_of) if played else (0, 0)
    serve, return_ = (
        Beta(prior["points"] * share + w, prior["points"] * (1.0 - share) + n - w)
        for share, w, n in zip((prior["serve"][level], prior["return"][level]), won, of, strict=True)
    )
    return Baseline(serve, return_, float(prior["points"]))


SIDES = {"serve": Touches.SERVE, "return": Touches.RETURN}


@dataclass(frozen=True, slots=True)
class Judged:
    """The judgement of a tactic's tries: the share `usual` without it on the points it `touches`, its gain per try."""

    tactic: str
    tried: int
    won: int
    usual: float
    mean: float
    spread: float
    touches: Touches = Touches.BOTH
    worse: float = field(init=False)

    def __post_init__(self) -> None:
        """Compute the probability that the tactic does worse than playing without it."""
        object.__setattr__(self, "worse", float(ndtr(-self.mean / self.spread)))


def judged(tactic: str, tries: Sequence[Tries], touches: Touches, base: Baseline, prior: tuple[float, float]) -> Judged:
    """Judge one tactic's tries. `prior` is the mean and spread of its gain per point before the tries count."""
    mean, spread = prior
    tried, won = sum(one.tried for one in tries), sum(one.won for one in tries)
    if not tried:
        return Judged(tactic, 0, 0, base.of(touches).mean, mean, spread, touches)
    expected = doubt = 0.0
    for side in (sides := dict.fromkeys(SIDES.get(one.on or "", touches) for one in tries)):
        of_side = [one for one in tries if SIDES.get(one.on or "", touches) is side]
        times = sum(one.tried for one in of_side)
        without = base.without(side, times, sum(one.won for one in of_side))
        expected += times * without.mean
        doubt += times * times * without.variance + times * without.mean * (1.0 - without.mean)
    weight = spread * spread / (spread * spread + doubt / (tried * tried))
    gain = (won - expected) / tried
    after = (1.0 - weight) * mean + weight * gain
    spread *= float(np.sqrt(1.0 - weight))
    return Judged(tactic, tried, won, expected / tried, after, spread, Touches.BOTH if len(sides) > 1 else side)
