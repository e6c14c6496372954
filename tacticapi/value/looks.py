"""What a further look is worth: the plan after it, on average over what it may show, less the plan now.

A plan is worth the best way of playing that rests on a trait (or nothing) on serve, plus that on return, plus that
in rallies on either. A way of playing is priced once with its traits true and once with them false; its worth is
then linear in each belief. A look changes one belief, by pure Bayes with the chances of its outcomes, so on average
the belief stays where it is and the plan can only gain. All looks together are one array.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import prod
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tacticapi.domain.look import Outlook, Play, TraitKey
from tacticapi.domain.situation import Situation
from tacticapi.domain.tactic import Touches
from tacticapi.value.baseline import Baseline
from tacticapi.value.match_gain import Array, MatchPricer
from tacticapi.value.price import steps

PARTS = tuple(Touches)
NO_PLAY = -1.0  # no match gain is below it, so that an empty place is never chosen


@dataclass(frozen=True, slots=True)
class PricedPlay:
    """A way of playing with its match gain if all its traits hold, and if not."""

    on: Touches
    rests_on: tuple[TraitKey, ...]
    holds: float
    fails: float

    def worth(self, beliefs: Mapping[TraitKey, float]) -> float:
        """Expected match gain at these beliefs."""
        chance = prod(beliefs[key] for key in self.rests_on)
        return chance * self.holds + (1.0 - chance) * self.fails


def price_plays(
    plays: Sequence[Play],
    beliefs: Mapping[TraitKey, float],
    situation: Situation,
    base: Baseline,
    pricer: MatchPricer,
    defaults: Mapping[str, Any],
) -> list[PricedPlay]:
    """Price each way of playing with its traits true and false. What tries taught is taken as it stands now."""
    grouped: dict[Touches, list[Play]] = {on: [p for p in plays if p.tactic.effect.on is on] for on in PARTS}
    shifts: dict[Touches, Array] = {}
    for on, group in grouped.items():
        moves = []
        for play in group:
            chance = prod(beliefs[key] for key in play.rests_on)
            up, down, learned = steps(play.tactic, play.alternative, chance, situation, base, defaults)
            share = play.tactic.effect.share
            moves.append((share * (up + learned), share * (down + learned)))
        shifts[on] = np.array(moves, dtype=np.float64).reshape(-1, 2)
    gains = pricer.gains(shifts)
    return [
        PricedPlay(on, play.rests_on, holds, fails)
        for on, group in grouped.items()
        for play, (holds, fails) in zip(group, gains[on].tolist(), strict=True)
    ]


class LookTable:
    """Outlooks as arrays: what each outcome of each look says of its belief."""

    def __init__(self, outlooks: Sequence[Outlook]) -> None:
        """Lay the outcomes of all looks out in one row; `outlooks` keep their order."""
        self.outlooks = tuple(outlooks)
        self.keys = tuple(dict.fromkeys(o.key for o in outlooks))
        places = {key: place for place, key in enumerate(self.keys)}
        sizes = [len(o.holds) for o in outlooks]
        self._key = np.repeat(np.array([places[o.key] for o in outlooks], dtype=np.intp), sizes)
        self._starts = np.cumsum([0, *sizes[:-1]], dtype=np.intp)
        self._holds = np.array([p for o in outlooks for p in o.holds])
        self._fails = np.array([p for o in outlooks for p in o.fails])

    def worths(self, plays: Sequence[PricedPlay], beliefs: Mapping[TraitKey, float]) -> Array:
        """The worth of each look in match chance, before rounding errors below nought are cut off."""
        if not self.outlooks:
            return np.zeros(0)
        stakes = _Stakes.of(self.keys, plays, beliefs)
        p = stakes.beliefs[self._key]
        if_holds, if_fails = p * self._holds, (1.0 - p) * self._fails
        best = (
            if_holds[:, np.newaxis, np.newaxis] * stakes.holds[self._key]
            + if_fails[:, np.newaxis, np.newaxis] * stakes.fails[self._key]
        ).max(axis=2)
        after = np.maximum(best, (if_holds + if_fails)[:, np.newaxis] * stakes.others[self._key]).sum(axis=1)
        now = stakes.now[self._key[self._starts]]
        return np.asarray(np.add.reduceat(after, self._starts) - now)


@dataclass(frozen=True, slots=True)
class _Stakes:
    """For each belief and part of the game: the plays that rest on it if it holds and if not, and the best other."""

    beliefs: Array  # (keys,)
    holds: Array  # (keys, parts, plays)
    fails: Array  # (keys, parts, plays)
    others: Array  # (keys, parts)
    now: Array  # (keys,)

    @classmethod
    def of(
        cls, keys: Sequence[TraitKey], plays: Iterable[PricedPlay], beliefs: Mapping[TraitKey, float]
    ) -> "_Stakes":
        ordered = sorted(((play.worth(beliefs), play) for play in plays), key=lambda pair: -pair[0])
        resting: dict[tuple[TraitKey, Touches], list[tuple[float, float]]] = {}
        for _, play in ordered:
            for key in set(play.rests_on):
                rest = prod(beliefs[other] for other in play.rests_on if other != key)
                if_holds = rest * play.holds + (1.0 - rest) * play.fails
                resting.setdefault((key, play.on), []).append((if_holds, play.fails))
        most = max((len(found) for found in resting.values()), default=1)
        holds, fails = (np.full((len(keys), len(PARTS), most), NO_PLAY) for _ in range(2))
        others = np.zeros((len(keys), len(PARTS)))
        for k, key in enumerate(keys):
            for part, on in enumerate(PARTS):
                for place, pair in enumerate(resting.get((key, on), ())):
                    holds[k, part, place], fails[k, part, place] = pair
                best = next((w for w, play in ordered if play.on is on and key not in play.rests_on), 0.0)
                others[k, part] = max(0.0, best)
        p = np.array([beliefs[key] for key in keys])
        chance = p[:, np.newaxis, np.newaxis]
        now = np.maximum((chance * holds + (1.0 - chance) * fails).max(axis=2), others).sum(axis=1)
        return cls(p, holds, fails, others, now)


