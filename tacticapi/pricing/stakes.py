"""What hangs on each belief, and what a further look is worth: the plan after it, on average, less the plan now.

A plan is worth the best way of playing that rests on a trait (or nothing) on serve, plus that on return, plus that
in rallies on either. A way of playing is worth something if its traits hold and something else if not, so its worth
is linear in each belief.

A look changes one belief, by pure Bayes with the chances of its outcomes, so on average the belief stays where it is
and the plan can only gain. It gains no more than a share of what certainty of the belief would: so most looks need
not be worked out to know that they are not among the best.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from heapq import heapify, heappop, heappush
from math import exp, log, prod
from operator import itemgetter
from typing import NamedTuple

from tacticapi.domain.reasoning import Play, Predictive
from tacticapi.domain.rules import Touches, TraitKey

PARTS = tuple(Touches)  # of the game, each with a plan of its own
Gain = tuple[int, float, float]
"""A play by its place, and its match gain if its traits hold and if not."""
_Priced = tuple[float, float, float, tuple[int, ...]]  # match gain now, if all traits hold, if not; what it rests on
WORTH_DIGITS = 6
ROUNDING = 10.0**-WORTH_DIGITS
STEP = 0.05
STEPS = range(-60, 61)  # what looks tell is laid out for likelihood ratios of exp(STEP) to all these powers
MIDDLE = -STEPS[0]
BELIEF, CHANGE, LOOK, WORTH = range(4)  # how closely something waiting is known


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

    def worth(self, belief: int, predictive: Predictive) -> float:
        """What the plan gains by a look at this belief, on average; below nought by no more than rounding errors."""
        gained = 0.0
        outcomes = list(zip(predictive.holds, predictive.fails, strict=True))
        for plays, now, _ in self._sides.get(belief, ()):
            (up, down), *others = plays
            best = [up * holds + down * fails for holds, fails in outcomes]
            for up, down in others:
                best = list(map(max, best, [up * holds + down * fails for holds, fails in outcomes]))
            gained += sum([gain for gain in best if gain > 0.0]) - now
        return gained

    def needed(self, belief: int) -> float:
        """The log likelihood ratio nearest to 0 at which another play becomes the best one; 0 where that is open.

        Where all plays in question pay if the belief holds, every further change of the plan asks for a larger ratio
        than the first one, and where all pay if it fails, for a smaller one.
        """
        sides = self._sides[belief]
        plays = sides[0].plays if len(sides) == 1 else [play for side in sides for play in side.plays]
        if len(plays) == 1:
            return _ratio(*plays[0])
        if max(plays, key=itemgetter(1))[1] <= 0.0:
            return max(0.0, min([_ratio(up, down) for up, down in plays]))
        if max(plays)[0] <= 0.0:
            return min(0.0, max([_ratio(up, down) for up, down in plays]))
        return 0.0


def _ratio(up: float, down: float) -> float:
    """The log likelihood ratio at which one play becomes as good as the best other."""
    if up * down >= 0.0:
        return 0.0  # whatever is seen, it is the better or the worse one
    return log(-down / up)


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


class _Look(NamedTuple):
    """A look by its place, kind and belief, and what it tells at every step: while unseen, and once seen at most."""

    place: int
    what: str
    belief: int
    new: list[float]
    again: list[float]


class LookTable:
    """Looks in the order in which equals are told, with the most that each can show of its belief."""

    def __init__(
        self, predictives: Sequence[Predictive], again: Sequence[Sequence[Predictive]], keys: Sequence[TraitKey]
    ) -> None:
        """Lay the looks out as `predictives` has them while their kind has not been seen.

        Once it has been seen, a look tells no more than the best of its `again`. `keys` are all beliefs in order.
        """
        beliefs = {key: place for place, key in enumerate(keys)}
        self._looks = []
        self._of_kind: dict[str, list[int]] = {}
        self._of_belief: dict[int, list[_Look]] = {}
        for place, (predictive, most) in enumerate(zip(predictives, again, strict=True)):
            new = _tells([predictive])
            best = new if list(most) == [predictive] else _tells(most)
            look = _Look(place, predictive.what, beliefs[predictive.key], new, best)
            self._looks.append(look)
            self._of_kind.setdefault(look.what, []).append(place)
            self._of_belief.setdefault(look.belief, []).append(look)
        self._most = {
            belief: [
                max(told) for told in zip(*(most for look in looks for most in (look.new, look.again)), strict=True)
            ]
            for belief, looks in self._of_belief.items()
        }

    def best_first(
        self,
        stakes: Stakes,
        seen: Collection[str],
        known: Iterable[str],
        now: Callable[[int], Predictive | None],
        least: float,
    ) -> Iterator[tuple[float, int]]:
        """The best looks worth at least so much, one a kind and one a belief: their worth in match chance, their place.

        Ties keep their order. `seen` are the kinds that have been seen, `known` those that need no look; `now` gives a
        look as it stands now, None where there is nothing left to see. Worths are rounded, so that noise never ranks.

        What could be worth most is looked at first, and only as closely as it takes: as all looks at a belief together,
        then with what would change the plan, then look by look, and last by what a look is worth.
        """
        gone = {place for kind in known for place in self._of_kind.get(kind, ())}
        told: set[int] = set()
        steps: dict[int, int] = {}
        waiting = self._beliefs(stakes)
        while waiting and -waiting[0][0] >= least:
            bound, known_as, place = heappop(waiting)
            if known_as == BELIEF:
                steps[place] = _step(stakes.needed(place))
                most = stakes.certainty[place] * self._most[place][steps[place]]
                heappush(waiting, (-most - ROUNDING, CHANGE, place))
            elif known_as == CHANGE:
                for bounded in self._bounded(place, stakes.certainty[place], steps[place], seen):
                    if -bounded[0] >= least:
                        heappush(waiting, bounded)
            elif place not in gone and self._looks[place].belief not in told:
                look = self._looks[place]
                if known_as == WORTH:
                    gone.update(self._of_kind[look.what])
                    told.add(look.belief)
                    yield -bound, place
                elif predictive := now(place):
                    worth = round(stakes.worth(look.belief, predictive), WORTH_DIGITS)
                    if worth >= least:
                        heappush(waiting, (-worth, WORTH, place))

    def _beliefs(self, stakes: Stakes) -> list[tuple[float, int, int]]:
        """A heap of the beliefs, each with the most that any look at it can be worth once rounded."""
        waiting = [
            (-certainty * self._most[belief][MIDDLE] - ROUNDING, BELIEF, belief)
            for belief, certainty in stakes.certainty.items()
            if belief in self._most
        ]
        heapify(waiting)
        return waiting

    def _bounded(self, belief: int, certainty: float, step: int, seen: Collection[str]) -> list[tuple[float, int, int]]:
        """The looks at a belief, each with the most that it can be worth once rounded."""
        return [
            (-certainty * (again if what in seen else new)[step] - ROUNDING, LOOK, place)
            for place, what, _, new, again in self._of_belief[belief]
        ]


def _step(needed: float) -> int:
    """The place in STEPS of a log likelihood ratio, cut towards 0, where looks tell most."""
    step = int(needed / STEP)
    return MIDDLE + (STEPS[0] if step < STEPS[0] else STEPS[-1] if step > STEPS[-1] else step)


def _tells(predictives: Sequence[Predictive]) -> list[float]:
    """The most that any of the predictives tells, at every step."""
    each = [
        _at_every_step(replace(predictive, what="", trait="", wing=None, on_wing=None)) for predictive in predictives
    ]
    return [max(told) for told in zip(*each, strict=True)]


@lru_cache(maxsize=4096)
def _at_every_step(predictive: Predictive) -> tuple[float, ...]:
    """What it tells; many looks differ in nothing but what they look at, and every phase lays them out anew."""
    return tuple([predictive.tells(exp(step * STEP)) for step in STEPS])
