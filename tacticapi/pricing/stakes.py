"""What hangs on each belief, and what a further look is worth: the plan after it, on average, less the plan now.

A plan is worth the best way of playing that rests on a trait (or nothing) on serve, plus that on return, plus that
in rallies on either. A way of playing is worth something if its traits hold and something else if not, so its worth
is linear in each belief.

A look changes one belief, by pure Bayes with the chances of its outcomes, so on average the belief stays where it is
and the plan can only gain.
"""

from collections.abc import Iterable, Mapping, Sequence
from math import prod
from typing import NamedTuple

from tacticapi.domain.reasoning import Play
from tacticapi.domain.rules import Touches, TraitKey

PARTS = tuple(Touches)  # of the game, each with a plan of its own
Gain = tuple[int, float, float]
"""A play by its place, and its match gain if its traits hold and if not."""
_Priced = tuple[float, float, float, tuple[int, ...]]  # match gain now, if all traits hold, if not; what it rests on


class Side(NamedTuple):
    """What a belief could change in one part of the game: the plays that could be the best one, over the best other.

    `plays` are (gain if the belief holds, times its chance; gain if it fails, times that chance); `now` is what the
    best of them gains at present, `certainty` what it would be worth to know the belief for certain.
    """

    plays: list[tuple[float, float]]
    now: float
    certainty: float

    @classmethod
    def of(cls, plays: list[tuple[float, float]]) -> "Side":
        """Work out both from the plays; none of them has to be taken."""
        now = best_up = best_down = 0.0
        for up, down in plays:  # comparisons, since this runs often in every request and a call of max is slower
            best_up = up if up > best_up else best_up
            best_down = down if down > best_down else best_down
            now = up + down if up + down > now else now
        return cls(plays, now, best_up + best_down - now)


class Stakes:
    """What hangs on each belief, in match chance.

    `certainty` is what it would be worth to know each belief for certain: no look at it can be worth more. Beliefs of
    no worth are left out.
    """

    def __init__(self, sides: Mapping[int, Sequence[Side]]) -> None:
        """`sides` are those of each belief that could change anything, by its place."""
        self.certainty: dict[int, float] = {}
        for belief, parts in sides.items():
            known = 0.0
            for _, _, certainty in parts:
                known += certainty
            self.certainty[belief] = known
        self._sides = sides

    def worth(self, belief: int, p_if_true: Sequence[float], p_if_false: Sequence[float]) -> float:
        """What the plan gains by a look at this belief, on average; below nought by no more than rounding errors.

        `p_if_true` and `p_if_false` are the chances of the outcomes if the belief holds and if it does not.
        """
        gained = 0.0
        outcomes = list(zip(p_if_true, p_if_false, strict=True))
        for plays, now, _ in self._sides.get(belief, ()):
            (up, down), *others = plays
            best = [up * holds + down * fails for holds, fails in outcomes]
            for up, down in others:
                best = list(map(max, best, [up * holds + down * fails for holds, fails in outcomes]))
            gained += sum([gain for gain in best if gain > 0.0]) - now
        return gained


class PlayTable:
    """All ways of playing that rest on a trait; `keys` are all beliefs in their order."""

    def __init__(self, plays: Sequence[Play], keys: Sequence[TraitKey]) -> None:
        """Note which beliefs each play rests on, by the part of the game that it touches."""
        places = {key: place for place, key in enumerate(keys)}
        rests = [tuple(dict.fromkeys(places[key] for key in play.rests_on)) for play in plays]
        self._plays = [
            (PARTS.index(play.tactic.effect.applies_to), on[0] if len(on) == 1 else None, on)
            for play, on in zip(plays, rests, strict=True)
        ]

    def at_stake(self, gains: Iterable[Gain], beliefs: Sequence[float]) -> Stakes:
        """What hangs on each belief (probabilities, one a key), from what the plays that are open gain."""
        by_part: list[list[_Priced]] = [[] for _ in PARTS]
        table = self._plays
        for place, up, down in gains:
            if up > 0.0 or down > 0.0:  # others are never the best one
                part, alone, rests = table[place]
                chance = prod([beliefs[belief] for belief in rests]) if alone is None else beliefs[alone]
                by_part[part].append((down + chance * (up - down), up, down, rests))
        sides: dict[int, list[Side]] = {}
        for plays in by_part:
            best, others = _best(plays)
            for belief, over in _over_the_best(plays, best, others, beliefs).items():
                side = Side.of(over)
                if side.certainty > 0.0:
                    sides.setdefault(belief, []).append(side)
        return Stakes(sides)


def _best(plays: Sequence[_Priced]) -> tuple[float, dict[int, float]]:
    """The worth of the best play or none, and for each belief that it rests on that of the best other."""
    best, *_, on = max(plays, default=(0.0, ()))
    if best <= 0.0:
        return 0.0, {}
    return best, {belief: max([0.0, *[play[0] for play in plays if belief not in play[3]]]) for belief in on}


def _over_the_best(
    plays: Sequence[_Priced], best: float, others: Mapping[int, float], beliefs: Sequence[float]
) -> dict[int, list[tuple[float, float]]]:
    """By belief the plays that could be better than the best one that does not rest on it, as `Side` has them."""
    found: dict[int, list[tuple[float, float]]] = {}
    least = min(others.values(), default=best)
    for _, if_all, if_not, rests in plays:
        if if_all > least or if_not > least:
            for belief in rests:
                rise = if_all - if_not
                for other in rests:
                    if other != belief:
                        rise *= beliefs[other]
                p = beliefs[belief]
                down = if_not - others.get(belief, best)
                up = down + rise
                if up > 0.0 or down > 0.0:
                    over = (p * up, (1.0 - p) * down)
                    if belief in found:
                        found[belief].append(over)
                    else:
                        found[belief] = [over]
    return found
