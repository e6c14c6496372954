"""What a further look is worth: the plan after it, on average over what it may show, less the plan now.

A look changes one belief, by pure Bayes with the chances of its outcomes, so on average the belief stays where it is
and the plan can only gain. It gains no more than a share of what certainty of the belief would: so most looks need
not be worked out to know that they are not among the best.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from heapq import heapify, heappop, heappush
from math import exp
from typing import NamedTuple

from tacticapi.domain.look import Outlook, TraitKey
from tacticapi.value.stakes import Stakes

WORTH_DIGITS = 6
ROUNDING = 10.0**-WORTH_DIGITS
STEP = 0.05
STEPS = range(-60, 61)  # what looks tell is laid out for likelihood ratios of exp(STEP) to all these powers
MIDDLE = -STEPS[0]

BELIEF, CHANGE, LOOK, WORTH = range(4)  # how closely something waiting is known


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
        self, outlooks: Sequence[Outlook], again: Sequence[Sequence[Outlook]], keys: Sequence[TraitKey]
    ) -> None:
        """Lay the looks out as `outlooks` has them while their kind has not been seen; `keys` are all beliefs in order.

        Once it has been seen, a look tells no more than the best of its `again`.
        """
        beliefs = {key: place for place, key in enumerate(keys)}
        self._looks = []
        self._of_kind: dict[str, list[int]] = {}
        self._of_belief: dict[int, list[_Look]] = {}
        for place, (outlook, most) in enumerate(zip(outlooks, again, strict=True)):
            new = _tells([outlook])
            best = new if list(most) == [outlook] else _tells(most)
            look = _Look(place, outlook.what, beliefs[outlook.key], new, best)
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
        now: Callable[[int], Outlook | None],
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
                elif outlook := now(place):
                    worth = round(stakes.worth(look.belief, outlook), WORTH_DIGITS)
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


def _tells(outlooks: Sequence[Outlook]) -> list[float]:
    """The most that any of the outlooks tells, at every step."""
    each = [_at_every_step(replace(outlook, what="", trait="", wing=None, on_wing=None)) for outlook in outlooks]
    return [max(told) for told in zip(*each, strict=True)]


@lru_cache(maxsize=4096)
def _at_every_step(outlook: Outlook) -> tuple[float, ...]:
    """What it tells; many looks differ in nothing but what they look at, and every phase lays them out anew."""
    return tuple([outlook.tells(exp(step * STEP)) for step in STEPS])
