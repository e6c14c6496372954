"""Where in the match a score stands, counted in games, so that what was seen earlier can age."""

from __future__ import annotations

from tacticapi.scoring.errors import Fault, ScoreError
from tacticapi.scoring.state import State


def games_in(state: State, index: int) -> int:
    """Games of the finished set with this index, counted from 0; a tie-break, a match's too, counts as one game."""
    return 1 if state.format.set_rule(index).is_match_tie_break else sum(state.sets[index])


def games_completed(state: State) -> int:
    """Games finished in the match so far."""
    return sum(games_in(state, index) for index in range(len(state.sets))) + sum(state.games)


def place(state: State) -> tuple[int, int]:
    """(set, game) in progress, both counted from 1; of a decided match, its last."""
    if state.winner is not None:
        return len(state.sets), games_in(state, len(state.sets) - 1)
    return len(state.sets) + 1, sum(state.games) + 1


def games_since(state: State, set_number: int, game_number: int | None = None) -> int:
    """Games completed after game `game_number` of set `set_number`, both counted from 1; None means the set's end.

    0 for the last finished game and the one in progress. Raises ScoreError for a place not reached yet.
    """
    now_set, now_game = place(state)
    if not 1 <= set_number <= now_set:
        raise ScoreError([Fault(("set",), set_number, f"a set from 1 to {now_set}")])
    last_game = now_game if set_number == now_set else games_in(state, set_number - 1)
    if game_number is None:
        game_number = last_game
    if not 1 <= game_number <= last_game:
        raise ScoreError([Fault(("game",), game_number, f"a game from 1 to {last_game} of set {set_number}")])
    through = sum(games_in(state, index) for index in range(set_number - 1)) + game_number
    return max(0, games_completed(state) - through)
