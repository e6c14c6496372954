"""When players change ends (Rules of Tennis, Rule 10: text seen for the tie-break's alternative, else from memory)."""

from __future__ import annotations

from typing import Final

from tacticapi.scoring.place import games_in
from tacticapi.scoring.state import State

EVERY_SIX: Final = 6
AFTER_ONE_THEN: Final = 4
SHORT_TIE_BREAK_ONCE: Final = 4


def ends_change_after_game(state: State) -> bool:
    """Whether ends change once the game in progress is over: after every odd game of a set.

    A set's end is no exception, a tie-break counting as one game. Never after what ends the match for certain,
    a tie-break of the last possible set, nor in a decided match.
    """
    last_set = len(state.sets) == state.format.sets - 1
    if state.winner is not None or (last_set and state.in_tie_break):
        return False
    return (sum(state.games) + 1) % 2 == 1


def points_to_end_change(state: State) -> int | None:
    """Points until ends next change inside the tie-break in progress; None outside one or when none is left.

    A short-set tie-break changes ends after its first four points only (appendix V, from memory).
    """
    if not state.in_tie_break or state.rule.tie_break is None:
        return None
    played = sum(state.points)
    if state.rule.tie_break.deciding_point:
        return SHORT_TIE_BREAK_ONCE - played if played < SHORT_TIE_BREAK_ONCE else None
    if state.format.tie_break_ends == "every-6":
        return EVERY_SIX - played % EVERY_SIX
    return 1 if played == 0 else AFTER_ONE_THEN - (played - 1) % AFTER_ONE_THEN


def is_change_of_ends(state: State) -> bool:
    """Whether players change ends exactly at this score, before the next point."""
    if state.winner is not None:
        return False
    if state.in_tie_break and state.points != (0, 0):
        return _changes_within_tie_break(state)
    if state.points != (0, 0):
        return False
    if state.games == (0, 0):
        return bool(state.sets) and games_in(state, len(state.sets) - 1) % 2 == 1
    return sum(state.games) % 2 == 1


def _changes_within_tie_break(state: State) -> bool:
    played, tie_break = sum(state.points), state.rule.tie_break
    if tie_break is not None and tie_break.deciding_point:
        return played == SHORT_TIE_BREAK_ONCE
    if state.format.tie_break_ends == "every-6":
        return played % EVERY_SIX == 0
    return (played - 1) % AFTER_ONE_THEN == 0
