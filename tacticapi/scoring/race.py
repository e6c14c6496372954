"""A race to n units, the one shape behind games, tie-breaks, sets and matches.

A game is a race to four points, a set a race to its games, a match a race to its sets. What happens at n-1 all is
the only difference, and has a closed form (Newton & Keller 2005, Stud. Appl. Math. 114:241-269; O'Malley 2008,
J. Quant. Anal. Sports 4(2); formulas from memory, recomputed in exact fractions).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from tacticapi.scoring.sides import Pair

Chance = NDArray[np.float64] | float

# Two players who each win every point on serve never part by two: the limit from both sides alike is one half.
NEVER_ENDING: Final = 1e-300


@dataclass(frozen=True, slots=True)
class Outlook:
    """Chances of one thing, such as own winning the match: now, and once the next unit is won or lost."""

    now: Chance
    won: Chance
    lost: Chance

    @property
    def importance(self) -> Chance:
        """P(if won) - P(if lost) (Morris 1977, definition seen quoted)."""
        return self.won - self.lost

    def within(self, outer: Outlook) -> Outlook:
        """This outlook carried to the larger contest in which winning or losing this one leads to `outer`."""
        step = outer.won - outer.lost
        return Outlook(outer.lost + self.now * step, outer.lost + self.won * step, outer.lost + self.lost * step)


class Stakes(NamedTuple):
    """What winning and losing the race are worth, each by the parity of the units played: (even, odd)."""

    won: tuple[Chance, Chance] = (1.0, 1.0)
    lost: tuple[Chance, Chance] = (0.0, 0.0)

    def blend(self, chance: Chance, parity: int) -> Chance:
        """The worth of winning with this chance after an even (0) or odd (1) number of units."""
        return self.lost[parity] + chance * (self.won[parity] - self.lost[parity])


CERTAIN: Final = Stakes()


def race(to: int, played: Pair, chances: Sequence[Chance], level: Chance, stakes: Stakes = CERTAIN) -> Outlook:
    """The outlook of a race to `to` units from `played`, both below `to` and not both `to - 1`.

    chances[k]: chance that own wins the unit after k units in all, for every k from the present to 2 * to - 3.
    level: worth of standing at `to` - 1 all. All broadcast; the work goes level by level over all pairs at once.
    """
    own, opponent = played
    values = np.zeros((to + 1, *np.broadcast(level, *chances, *stakes.won, *stakes.lost).shape))
    values[to - 1] = level
    present = own + opponent
    for total in range(2 * to - 3, present, -1):
        _enter_ends(values, to, own, total, stakes)
        low, high = max(own, total - to + 1), min(to - 1, total - opponent)
        values[low : high + 1] += chances[total] * (values[low + 1 : high + 2] - values[low : high + 1])
    _enter_ends(values, to, own, present, stakes)
    lost, won = values[own], values[own + 1]
    return Outlook(lost + chances[present] * (won - lost), won, lost)


def _enter_ends(values: NDArray[np.float64], to: int, own: int, total: int, stakes: Stakes) -> None:
    """Enter what the race is worth where the unit after `total` units wins it, or loses it at `own` or more."""
    parity = (total + 1) % 2
    values[to] = stakes.won[parity]
    if (lost_at := total - to + 1) >= own:
        values[lost_at] = stakes.lost[parity]


def deuce(first: Chance, second: Chance) -> Chance:
    """Chance of getting two ahead from level, when the next two units are won with these chances, over and over.

    p * r / (p * r + (1 - p) * (1 - r)); the order of the two does not matter. One half where neither can get ahead.
    """
    both, neither = first * second, (1.0 - first) * (1.0 - second)
    return (both + NEVER_ENDING / 2.0) / (both + neither + NEVER_ENDING)


def by_two(
    lead: int, unit: Chance, following: Chance, level: Chance, *, won: Chance = 1.0, lost: Chance = 0.0
) -> Outlook:
    """The outlook late in a race that asks for a lead of two, own being `lead` (-1, 0 or 1) ahead.

    unit: chance in the next unit; following: in the one after it. level: worth of standing level once more.
    """
    ahead, behind = level + following * (won - level), lost + following * (level - lost)
    if lead > 0:
        return Outlook(level + unit * (won - level), won, level)
    if lead < 0:
        return Outlook(lost + unit * (level - lost), level, lost)
    return Outlook(behind + unit * (ahead - behind), ahead, behind)
