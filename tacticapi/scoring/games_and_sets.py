"""Compute the chance of winning a game, tie-break or set: each is a race to n units, with a closed form at n-1 all.

Newton & Keller 2005, Stud. Appl. Math. 114:241-269; O'Malley 2008, J. Quant. Anal. Sports 4(2); formulas from memory,
recomputed in exact fractions.
"""

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from tacticapi.scoring.formats import Pair, SetRule, TieBreak
from tacticapi.scoring.score import FORTY, first_server_serves

Chance = NDArray[np.float64] | float

# If both players win every point on serve, neither ever leads by two: the limit is one half from either side.
NEVER_ENDING: Final = 1e-300
POINTS_TO_WIN: Final = FORTY + 1


class Fork(NamedTuple):
    """The chance of one event, such as winning the match: now, and after winning or losing the next unit."""

    now: Chance
    won: Chance
    lost: Chance

    @property
    def importance(self) -> Chance:
        """Return P(if won) - P(if lost) (Morris 1977; definition as quoted elsewhere)."""
        return self.won - self.lost

    def within(self, outer: "Fork") -> "Fork":
        """Return this fork as part of the larger contest, where winning or losing this one leads to `outer`."""
        step = outer.won - outer.lost
        return Fork(*(outer.lost + chance * step for chance in self))


class EndWorth(NamedTuple):
    """What winning and losing the race are worth, each after an even or odd number of units: (even, odd)."""

    won: tuple[Chance, Chance] = (1.0, 1.0)
    lost: tuple[Chance, Chance] = (0.0, 0.0)

    def blend(self, chance: Chance, parity: int) -> Chance:
        """Return the expected worth, given this chance of winning, after an even (0) or odd (1) number of units."""
        return self.lost[parity] + chance * (self.won[parity] - self.lost[parity])


CERTAIN: Final = EndWorth()


def race(to: int, played: Pair, chances: Sequence[Chance], level: Chance, stakes: EndWorth = CERTAIN) -> Fork:
    """Return the fork of a race to `to` units from `played`, both below `to` and not both `to - 1`.

    chances[k]: your chance of winning the unit after k units, for every k up to 2 * to - 3. level: worth at `to` - 1
    all.
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
    return Fork(lost + chances[present] * (won - lost), won, lost)


def _enter_ends(values: NDArray[np.float64], to: int, own: int, total: int, stakes: EndWorth) -> None:
    parity = (total + 1) % 2
    values[to] = stakes.won[parity]
    if (lost_at := total - to + 1) >= own:
        values[lost_at] = stakes.lost[parity]


def deuce(first: Chance, second: Chance) -> Chance:
    """Return p r / (p r + (1 - p)(1 - r)), the chance of going two ahead from level; one half if neither player can."""
    both, neither = first * second, (1.0 - first) * (1.0 - second)
    return (both + NEVER_ENDING / 2.0) / (both + neither + NEVER_ENDING)


def by_two(lead: int, unit: Chance, following: Chance, level: Chance, *, won: Chance = 1.0, lost: Chance = 0.0) -> Fork:
    """Return the fork late in a race by two, if you lead by `lead`, given the chances in this and the next unit."""
    ahead, behind = level + following * (won - level), lost + following * (level - lost)
    if lead > 0:
        return Fork(level + unit * (won - level), won, level)
    if lead < 0:
        return Fork(lost + unit * (level - lost), level, lost)
    return Fork(behind + unit * (ahead - behind), ahead, behind)


def game_chance(p: Chance, *, no_ad: bool = False) -> Chance:
    """Return the chance of winning a game from 0-0 for a player who wins each point, on serve or not, with chance `p`.

    It is p^4 (1 + 4q + 10q^2) + 20 p^3 q^3 D, where D = p^2 / (p^2 + q^2) at deuce, or p for a deciding point.
    """
    q = 1.0 - p
    at_deuce = p if no_ad else deuce(p, p)
    cube = p * p * p
    return cube * (p * (1.0 + q * (4.0 + 10.0 * q)) + 20.0 * q * q * q * at_deuce)


def game_fork(p: Chance, points: Pair = (0, 0), *, no_ad: bool = False) -> Fork:
    """Return the fork of a game from `points` (own, opponent; 3 is 40) if you win each point with chance `p`."""
    if min(points) >= FORTY:
        return Fork(p, 1.0, 0.0) if no_ad else by_two(points[0] - points[1], p, p, deuce(p, p))
    at_deuce = p if no_ad else deuce(p, p)
    return race(POINTS_TO_WIN, points, [p] * (2 * FORTY), at_deuce)


def tie_break_fork(rule: TieBreak, points: Pair, by_first: Chance, by_second: Chance) -> Fork:
    """Return the fork of a tie-break, given your chance of winning a point on its first and second server's serve."""
    level_at = rule.points - 1
    if min(points) >= level_at:
        total = sum(points)
        unit = by_first if first_server_serves(total) else by_second
        if rule.deciding_point:
            return Fork(unit, 1.0, 0.0)
        following = by_first if first_server_serves(total + 1) else by_second
        level = deuce(by_first, by_second)
        return by_two(points[0] - points[1], unit, following, level)
    chances = [by_first if first_server_serves(point) else by_second for point in range(2 * level_at + 1)]
    level = chances[-1] if rule.deciding_point else deuce(by_first, by_second)
    return race(rule.points, points, chances[:-1], level)


def set_fork(
    rule: SetRule, games: Pair, by_first: Chance, by_second: Chance, tie_break: Chance, *, stakes: EndWorth = CERTAIN
) -> Fork:
    """Return the fork of a set over its next game or tie-break, given your chance of winning each server's games.

    `stakes`: the worth of the set by the parity of its games; with CERTAIN, the fork is the chance of winning the set.
    """
    after_tie_break = stakes.blend(tie_break, 1)
    if rule.in_tie_break(games):
        return Fork(after_tie_break, stakes.won[1], stakes.lost[1])
    ordered = [by_first, by_second]
    total, level_at = sum(games), rule.games - 1
    tie_break_ends_race = rule.tie_break_at == level_at
    advantage = rule.tie_break_at is None
    level = stakes.blend(deuce(by_first, by_second), 0) if advantage else after_tie_break
    if min(games) >= level_at and not tie_break_ends_race:
        unit, following = ordered[total % 2], ordered[(total + 1) % 2]
        return by_two(games[0] - games[1], unit, following, level, won=stakes.won[0], lost=stakes.lost[0])
    if not tie_break_ends_race:
        level = by_two(0, by_first, by_second, level, won=stakes.won[0], lost=stakes.lost[0]).now
    return race(rule.games, games, ordered * level_at, level, stakes)
