"""Chances and importance of one score, and the scores of a whole match, in the words of the tests."""

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tacticapi.scoring.formats import Format, Side
from tacticapi.scoring.match import Importance, MatchModel, importance_table
from tacticapi.scoring.score import State, after


def win_chance(fmt: Format, state: State, serve: ArrayLike, ret: ArrayLike) -> NDArray[np.float64]:
    """Own's chance of winning the match from a score, for every pair of point chances."""
    return np.asarray(MatchModel(fmt, serve, ret).at(state).match.now)


def point_importance(fmt: Format, state: State, serve: ArrayLike, ret: ArrayLike) -> Importance:
    """Importance of the next point, the same for both players."""
    chances = MatchModel(fmt, serve, ret).at(state)
    return Importance(chances.game.importance, chances.set.importance, chances.match.importance)


def match_importance(fmt: Format, state: State, serve: ArrayLike, ret: ArrayLike) -> dict[str, Any]:
    """The match column of the table of importance."""
    return {score: importance.match for score, importance in importance_table(fmt, state, serve, ret).items()}


def game_importance(p: ArrayLike, *, no_ad: bool = False) -> dict[str, Any]:
    """Importance of every point in a game; p is the chance of each point for the player named first in the score."""
    fmt = Format(no_ad=no_ad)
    table = importance_table(fmt, State(fmt, server="own"), p, 0.5)
    return {score: importance.game for score, importance in table.items()}


def play(fmt: Format, winners: Iterable[Side], first_server: Side | None) -> list[State]:
    """The states of a match before its first point and after each point, given who won them."""
    states = [State(fmt, server=first_server)]
    for winner in winners:
        states.append(after(states[-1], winner))
    return states
