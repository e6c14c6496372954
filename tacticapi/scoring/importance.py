"""How much the next point matters: P(win if won) - P(win if lost) (Morris 1977, definition seen quoted)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from tacticapi.scoring.formats import Format
from tacticapi.scoring.match import MatchModel
from tacticapi.scoring.race import Chance
from tacticapi.scoring.sides import Pair
from tacticapi.scoring.state import FORTY, GAME_CALLS, State

_TO_FORTY: Final = range(FORTY + 1)
_ADVANTAGES: Final[tuple[Pair, Pair]] = ((FORTY + 1, FORTY), (FORTY, FORTY + 1))


@dataclass(frozen=True, slots=True)
class Importance:
    """Importance of the next point in its game, set and match; all 0 once the match is decided."""

    game: Chance
    set: Chance
    match: Chance


def importance_table(fmt: Format, state: State, serve: ArrayLike, ret: ArrayLike) -> dict[str, Importance]:
    """Importance of every point of the game or tie-break in progress, by score own-opponent.

    A point's importance in its game times the game's importance in the set and match. In a tie-break the scores below
    its end are listed, as "3-2". The server must be known. A decided match has none: {}.
    Raises ValueError when the server is unknown.
    """
    if state.winner is not None:
        return {}
    if state.server is None:
        raise ValueError("the importance of a whole game needs its server")
    model = MatchModel(fmt, serve, ret)
    chances = model.at(state)
    in_set, in_match = chances.set_by_game.importance, chances.match_by_game.importance
    scores = _tie_break_scores(state) if state.in_tie_break else _game_scores(fmt.no_ad)
    table = {}
    for points in scores:
        step = np.broadcast_to(model.unit_outlook(state.with_points(points)).importance, model.shape)
        table[_call(points, state.in_tie_break)] = Importance(step, step * in_set, step * in_match)
    return table


def _game_scores(no_ad: bool) -> list[Pair]:
    return [(own, opponent) for own in _TO_FORTY for opponent in _TO_FORTY] + ([] if no_ad else [*_ADVANTAGES])


def _tie_break_scores(state: State) -> list[Pair]:
    to = 0 if state.rule.tie_break is None else state.rule.tie_break.points
    return [(own, opponent) for own in range(to) for opponent in range(to)]


def _call(points: Pair, in_tie_break: bool = False) -> str:
    own, opponent = points
    return f"{own}-{opponent}" if in_tie_break else f"{GAME_CALLS[own]}-{GAME_CALLS[opponent]}"
