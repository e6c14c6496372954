"""Own points won on serve and on return, before any tactic: a prior by level, updated by points played."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.domain.situation import PointsPlayed, Situation
from tacticapi.domain.tactic import Touches


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
