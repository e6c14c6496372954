"""What hangs on each belief, and what a further look is worth: the plan after it, on average, less the plan now.

A plan has several lines, one on each trait at most, on serve, on return and in rallies on either: the best way of
playing that rests on the trait, or none. A way of playing is worth something if its traits hold and something else if
not, so its worth is linear in each belief.

So a line that is played on a belief that is not sure is at stake as much as one that waits for it. A look changes
beliefs by pure Bayes with the chances of its outcomes; on average they stay where they are and the plan can only gain.
"""

from collections.abc import Iterable, Sequence
from math import prod

import numpy as np
from numpy.typing import NDArray

from tacticapi.domain.reasoning import Play
from tacticapi.domain.rules import Touches, TraitKey

PARTS = tuple(Touches)  # of the game, each with lines of its own
Array = NDArray[np.float64]
Places = NDArray[np.intp]
Gain = tuple[int, float, float]
"""A play by its place, and its match gain if its traits hold and if not."""
Line = tuple[float, float]
"""A play on a belief: its gain if the belief holds, times that chance; its gain if it fails, times that chance."""


class Stakes:
    """What hangs on each belief, in match chance.

    `certainty` is what it would be worth to know each belief for certain, (beliefs,): no look at it can be worth more.
    `swing` is what the worth of one play on the belief may differ by from what it is now, times the chance of that, for
    the play for which this is most: what is not known of a play even if nothing could change it.
    """

    def __init__(self, lines: Sequence[tuple[int, Sequence[Line]]], probabilities: Sequence[float]) -> None:
        """`lines` are the plays on one belief in one part of the game, by the belief's place, in rising order."""
        chances, beliefs = np.array(probabilities), len(probabilities)
        of = np.array([belief for belief, _ in lines], dtype=np.intp)
        sizes = np.array([len(plays) for _, plays in lines], dtype=np.intp)
        self._up, self._down = np.array([play for _, plays in lines for play in plays]).reshape(-1, 2).T
        self._line = np.repeat(np.arange(len(lines)), sizes)
        owner = of.repeat(sizes)
        self._plays = np.bincount(owner, minlength=beliefs)
        self._first = np.cumsum(self._plays) - self._plays
        starts = np.cumsum(sizes) - sizes
        parts = (self._up, self._down, self._up + self._down)
        up, down, self._now = (np.maximum(np.maximum.reduceat(p, starts), 0.0) if lines else p for p in parts)
        self.certainty = np.asarray(np.bincount(of, up + down - self._now, beliefs), dtype=np.float64)
        self.swing = np.zeros(beliefs)
        chance = chances[owner]
        np.maximum.at(self.swing, owner, self._up * (1.0 - chance) - self._down * chance)

    def worth(self, beliefs: Places, p_if_true: Array, p_if_false: Array) -> Array:
        """Return what the plan gains by each look at a belief, on average; below nought by rounding errors only.

        `beliefs` are places, one a look. The arrays are the chances of the outcomes if the belief holds and if it does
        not, (looks, outcomes).
        """
        plays = self._plays[beliefs]
        looks = np.arange(len(beliefs)).repeat(plays)
        if not len(looks):
            return np.zeros(len(beliefs))
        within = np.arange(len(looks)) - (np.cumsum(plays) - plays).repeat(plays)
        at = self._first[beliefs].repeat(plays) + within
        gains = self._up[at, np.newaxis] * p_if_true[looks] + self._down[at, np.newaxis] * p_if_false[looks]
        line = self._line[at]
        starts = np.flatnonzero(np.diff(line, prepend=-1) | np.diff(looks, prepend=-1))
        best = np.maximum(np.maximum.reduceat(gains, starts, axis=0), 0.0).sum(axis=1)
        gained = np.bincount(looks[starts], best - self._now[line[starts]], len(beliefs))
        return np.asarray(gained, dtype=np.float64)


class PlayTable:
    """All ways of playing that rest on a trait; `keys` are all beliefs in their order."""

    def __init__(self, plays: Sequence[Play], keys: Sequence[TraitKey]) -> None:
        """Note which beliefs each play rests on, by the part of the game that it touches."""
        places = {key: place for place, key in enumerate(keys)}
        self._plays = [
            (PARTS.index(play.tactic.effect.applies_to), tuple(dict.fromkeys(places[key] for key in play.rests_on)))
            for play in plays
        ]

    def at_stake(self, gains: Iterable[Gain], beliefs: Sequence[float]) -> Stakes:
        """Return what hangs on each belief (probabilities, one a key), from what the plays that are open gain."""
        lines: dict[tuple[int, int], list[Line]] = {}
        for place, if_all, if_not in gains:
            if if_all > 0.0 or if_not > 0.0:  # others are never played
                part, rests = self._plays[place]
                for belief in rests:
                    others = prod([beliefs[other] for other in rests if other != belief]) if len(rests) > 1 else 1.0
                    holds, p = if_not + (if_all - if_not) * others, beliefs[belief]
                    line = (p * holds, (1.0 - p) * if_not)
                    if (belief, part) in lines:
                        lines[belief, part].append(line)
                    else:
                        lines[belief, part] = [line]
        return Stakes([(belief, lines[belief, part]) for belief, part in sorted(lines)], beliefs)
