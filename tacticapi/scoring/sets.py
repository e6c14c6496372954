"""The chance of a set: a race to its games, the serve changing after every game."""

from __future__ import annotations

from tacticapi.scoring.race import CERTAIN, Chance, Outlook, Stakes, by_two, deuce, race
from tacticapi.scoring.set_rules import SetRule
from tacticapi.scoring.sides import Pair


def set_outlook(
    rule: SetRule, games: Pair, by_first: Chance, by_second: Chance, tie_break: Chance, *, stakes: Stakes = CERTAIN
) -> Outlook:
    """The outlook of a set from `games` (own, opponent), the unit being the next game or tie-break.

    by_first, by_second: chance that own wins a game served by the set's first and by its second server.
    tie_break: chance that own wins the set's tie-break, not used by an advantage set.
    stakes: what the set is worth by the parity of its games; with CERTAIN the outlook is the chance of the set.
    """
    after_tie_break = stakes.blend(tie_break, 1)
    if rule.in_tie_break(games):
        return Outlook(after_tie_break, stakes.won[1], stakes.lost[1])
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
