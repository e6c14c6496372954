"""What was counted on one side of the court, and the numbers the model assumes about what was not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Serves:
    """Points won on serves to one spot (0 <= won <= of).

    Count the whole point under the spot aimed at with the same serve throughout: first serves only, or second serves
    only, or the serve that was in play.
    """

    won: float
    of: float

    def __post_init__(self) -> None:
        if not 0 <= self.won <= self.of < float("inf"):
            raise ValueError(f"{self.won} won of {self.of}: expected 0 <= won <= of")


NONE = Serves(0, 0)


@dataclass(frozen=True, slots=True)
class SpotCounts:
    """Counts on one side of the court.

    `spots` (2 to 4 names) gives the order of everything that is returned. `serves` are the serves to each spot of
    which the receiver's leaning was not noted, `by_lean[spot][lean]` those of which it was: no serve counts in both.
    `leans` is how often the receiver leaned to each spot, whatever the serve was; a neutral stance counts a fraction
    for each. Left out means not counted. Raises ValueError for unknown names and negative counts.
    """

    spots: tuple[str, ...]
    serves: Mapping[str, Serves] = field(default_factory=dict)
    leans: Mapping[str, float] = field(default_factory=dict)
    by_lean: Mapping[str, Mapping[str, Serves]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not 2 <= len(set(self.spots)) == len(self.spots) <= 4:
            raise ValueError(f"spots {self.spots}: expected 2 to 4 different names")
        named = {*self.serves, *self.leans, *self.by_lean, *(lean for by in self.by_lean.values() for lean in by)}
        if unknown := named - set(self.spots):
            raise ValueError(f"unknown spots {sorted(unknown)}: expected some of {self.spots}")
        if not all(0 <= count < float("inf") for count in self.leans.values()):
            raise ValueError(f"leans {dict(self.leans)}: expected counts of 0 or more")

    @property
    def served(self) -> tuple[float, ...]:
        """All serves to each spot, whether the leaning was noted or not."""
        return tuple(
            self.serves.get(spot, NONE).of + sum(cell.of for cell in self.by_lean.get(spot, {}).values())
            for spot in self.spots
        )

    @property
    def leaned(self) -> float:
        """How many leanings were counted."""
        return float(sum(self.leans.values()))


@dataclass(frozen=True, slots=True)
class MixModel:
    """What is assumed where nothing was counted. Every number is a model default: none has been measured.

    `prior_share`: points won on a serve to any spot (0 to 1), worth `prior_serves` serves each spot.
    `lean_effect`: how much more often a serve wins when the receiver leans elsewhere than when they lean to it
    (0 to 1); it is worth `effect_serves` serves for each spot and leaning.
    `lean_serves`: an even leaning is worth so many leanings counted.
    `stays`: chance that a receiver whose leaning is fully known keeps to it instead of adapting (0 to 1).
    `least_share`: no spot gets a smaller share, so that each has to be covered (0 to 1 / number of spots).
    """

    prior_share: float
    prior_serves: float
    lean_effect: float
    effect_serves: float
    lean_serves: float
    stays: float
    least_share: float

    def __post_init__(self) -> None:
        shares = (self.prior_share, self.lean_effect, self.stays, self.least_share)
        if not all(0.0 <= share <= 1.0 for share in shares):
            raise ValueError(f"{self}: expected shares, effect and chance between 0 and 1")
        if not all(0.0 < weight < float("inf") for weight in (self.prior_serves, self.effect_serves, self.lean_serves)):
            raise ValueError(f"{self}: expected weights above 0")
