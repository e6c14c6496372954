"""The chance of a tie-break: a race in which the serve changes after the first point and then after every two."""

from __future__ import annotations

from tacticapi.scoring.race import Chance, Outlook, by_two, deuce, race
from tacticapi.scoring.set_rules import TieBreak
from tacticapi.scoring.sides import Pair
from tacticapi.scoring.state import first_server_serves


def tie_break_outlook(rule: TieBreak, points: Pair, by_first: Chance, by_second: Chance) -> Outlook:
    """The outlook of a tie-break from `points` (own, opponent).

    by_first, by_second: chance that own wins a point served by the tie-break's first and by its second server.
    At one short of the end all, p r / (p r + (1 - p)(1 - r)) whoever serves next (O'Malley 2008, from memory,
    recomputed); with a deciding point, the chance of that point.
    """
    level_at = rule.points - 1
    if min(points) >= level_at:
        total = sum(points)
        unit = by_first if first_server_serves(total) else by_second
        if rule.deciding_point:
            return Outlook(unit, 1.0, 0.0)
        following = by_first if first_server_serves(total + 1) else by_second
        level = deuce(by_first, by_second)
        return by_two(points[0] - points[1], unit, following, level)
    chances = [by_first if first_server_serves(point) else by_second for point in range(2 * level_at + 1)]
    level = chances[-1] if rule.deciding_point else deuce(by_first, by_second)
    return race(rule.points, points, chances[:-1], level)
