"""The serve mix to advise after counts, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from tacticapi.games.counts import MixModel, SpotCounts
from tacticapi.games.kernels import best_mixes
from tacticapi.games.point_game import Array, PointBeliefs
from tacticapi.games.zero_sum import exploitability, guaranteed, solve

DRAWS: Final = 1000
PERCENTILES: Final = (0.1, 0.9)


@dataclass(frozen=True, slots=True)
class SpotShare:
    """One spot of the mix: shares of serves and chances of the point, all from 0 to 1.

    `low` and `high`: 10th and 90th percentile, over the posterior, of the share that would be best, widened where
    needed to hold `share`. `wins`: chance of the point against the leaning expected. `concedes`: how much less that
    is than at the best spot. `if_always`: how far below `value` the receiver can hold a server who serves there
    every time.
    """

    spot: str
    share: float
    low: float
    high: float
    wins: float
    concedes: float
    if_always: float


@dataclass(frozen=True, slots=True)
class MixAdvice:
    """The mix, its mean chance of the point with 10th and 90th percentile, and what it rests on.

    `floor` is the mean chance against a receiver who has read the mix; `trust` the weight given to the leaning counted;
    `past_gives` what the spots served so far would give away to a receiver who has read them (None without serves).
    """

    spots: tuple[SpotShare, ...]
    value: float
    value_low: float
    value_high: float
    floor: float
    trust: float
    past_gives: float | None

    @property
    def mix(self) -> dict[str, float]:
        """Share of each spot."""
        return {spot.spot: spot.share for spot in self.spots}


def best_mix(counts: SpotCounts, model: MixModel, seed: int = 0, draws: int = DRAWS) -> MixAdvice:
    """The mix that wins most points on average over the posterior of the chances.

    The game solved: the receiver knows the mix and what was counted, but the true chances no better than the server.
    What a mix yields against one leaning is linear in the chances, so its average over the posterior is its yield at
    the posterior means: the mix is the maximin of the mean matrix, and needs no draws. A receiver who knew the true
    chances would hold the server lower. With chance `trust` the receiver does not answer the mix at all but leans as
    counted.

    Percentiles come from `draws` posterior draws (numpy's PCG64 from `seed`: the same seed gives the same numbers);
    each draw's own best mix is exact. With 1000 draws the ends move from seed to seed by 0.03 (standard deviation) at
    most for a share and 0.007 for the value, in the cases measured.
    """
    beliefs = PointBeliefs(counts, model)
    mean = beliefs.mean()
    solution = solve(beliefs.played(mean))
    mix = beliefs.with_least_share(np.array(solution.mix_row))
    leaning = beliefs.trust * mean.leaning + (1.0 - beliefs.trust) * np.array(solution.mix_col)
    drawn = beliefs.draws(draws, np.random.Generator(np.random.PCG64(seed)))
    bests = beliefs.with_least_share(best_mixes(beliefs.played(drawn)))
    value_low, value_high = np.quantile(np.einsum("s,dsl,l->d", mix, drawn.chances, leaning), PERCENTILES)
    return MixAdvice(
        _spot_shares(counts.spots, mix, bests, mean.chances, leaning),
        float(mix @ mean.chances @ leaning),
        float(value_low),
        float(value_high),
        guaranteed(mean.chances, mix),
        beliefs.trust,
        _past_gives(mean.chances, counts),
    )


def _spot_shares(
    spots: tuple[str, ...], mix: Array, bests: Array, chances: Array, leaning: Array
) -> tuple[SpotShare, ...]:
    low, high = np.quantile(bests, PERCENTILES, axis=0)
    wins, value = chances @ leaning, mix @ chances @ leaning
    columns = (mix, np.minimum(low, mix), np.maximum(high, mix), wins, wins.max() - wins, value - chances.min(axis=1))
    # rounded, so that equal spots are equal and nothing is conceded where only arithmetic differs
    rows = np.column_stack(columns).round(12).tolist()
    return tuple(SpotShare(spot, *row) for spot, row in zip(spots, rows, strict=True))


def _past_gives(chances: Array, counts: SpotCounts) -> float | None:
    served = np.array(counts.served)
    return exploitability(chances, served / served.sum()) if served.sum() else None
