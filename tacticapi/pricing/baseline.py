"""The points that we usually win, on serve and on return: a prior by level, updated by the points played."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.domain.rules import Touches
from tacticapi.domain.situation import PointsPlayed, Situation


@dataclass(frozen=True, slots=True)
class Beta:
    """A Beta posterior of a chance; `a` wins and `b` losses, both above 0."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        """Expected chance."""
        return self.a / (self.a + self.b)

    @property
    def variance(self) -> float:
        """Variance of the chance."""
        return self.mean * (1.0 - self.mean) / (self.a + self.b + 1.0)


@dataclass(frozen=True, slots=True)
class Baseline:
    """Posteriors of the chance to win a point on own serve and on return."""

    serve: Beta
    return_: Beta
    points: float = 0.0  # that each prior is worth

    def of(self, touches: Touches) -> Beta:
        """The posterior of the points that a tactic touches; for both, of all points together."""
        match touches:
            case Touches.SERVE:
                return self.serve
            case Touches.RETURN:
                return self.return_
            case _:
                return Beta(self.serve.a + self.return_.a, self.serve.b + self.return_.b)

    def without(self, touches: Touches, tried: float, won: float) -> Beta:
        """The same without so many of the points; with them if fewer were posted than were tried."""
        all_, least = self.of(touches), self.points * (2 if touches is Touches.BOTH else 1)
        rest = Beta(all_.a - won, all_.b - (tried - won))
        return rest if rest.a + rest.b >= least and min(rest.a, rest.b) > 0.0 else all_


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
    return Baseline(serve, return_, float(prior["points"]))
