"""What the score says about the next point: in one line, and as facts."""

from typing import Any

from tacticapi.advice.words import score_line
from tacticapi.scoring import State, ends_change_after_game, is_change_of_ends, next_point, points_to_end_change


def score_sentence(state: State, worth: float) -> str:
    """The line of an advice with the next change of ends; `worth` is the importance in the match, 0 to 1."""
    ends = _next_change_of_ends(state)
    line = score_line(state, next_point(state), worth)
    return f"{line}; {ends}" if ends else line


def next_point_body(state: State) -> dict[str, Any]:
    """Who serves where, whose point it is, and when ends change."""
    point = next_point(state)
    return {
        "server": point.server,
        "courts": list(point.courts),
        "tie_break": point.in_tie_break,
        "deciding_point": point.deciding_point,
        "game_point": list(point.game_point),
        "break_point": None if point.break_point is None else list(point.break_point),
        "set_point": list(point.set_point),
        "match_point": list(point.match_point),
        "ends_change_now": is_change_of_ends(state),
        "ends_change_after_game": ends_change_after_game(state),
        "ends_change_in_points": points_to_end_change(state),
    }


def _next_change_of_ends(state: State) -> str | None:
    if state.winner is not None:
        return None
    if is_change_of_ends(state):
        return "ends change now"
    if points := points_to_end_change(state):
        return f"ends change in {points} point{'' if points == 1 else 's'}"
    if ends_change_after_game(state):
        return "ends change after this game"
    last_tie_break = state.in_tie_break and len(state.sets) == state.format.sets - 1
    return None if last_tie_break else "ends change after the next game"
