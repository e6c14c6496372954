"""What hangs on the next point: who serves, from which side, and whose game, set or match point it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tacticapi.scoring.fold import after
from tacticapi.scoring.sides import SIDES, Side, other
from tacticapi.scoring.state import State

Court = Literal["deuce", "ad"]


@dataclass(frozen=True, slots=True)
class NextPoint:
    """The next point; each `..._point` lists for whom winning it would end the game, set or match.

    courts: the side it is served to, both where the receiver chooses, none when the match is decided.
    break_point: the receiver of a game they would win; None when the server is unknown, empty in a tie-break.
    """

    server: Side | None
    courts: tuple[Court, ...]
    in_tie_break: bool
    deciding_point: bool
    game_point: tuple[Side, ...]
    break_point: tuple[Side, ...] | None
    set_point: tuple[Side, ...]
    match_point: tuple[Side, ...]


def next_point(state: State) -> NextPoint:
    """The next point of a match; of a decided one, nothing is at stake and no side of the court is named."""
    if state.winner is not None:
        return NextPoint(None, (), False, False, (), (), (), ())
    ends = {side: after(state, side) for side in SIDES}
    game = tuple(side for side in SIDES if ends[side].sets != state.sets or ends[side].games != state.games)
    return NextPoint(
        server=state.server,
        courts=_courts(state),
        in_tie_break=state.in_tie_break,
        deciding_point=state.deciding_point,
        game_point=game,
        break_point=_break_point(state, game),
        set_point=tuple(side for side in SIDES if ends[side].sets != state.sets),
        match_point=tuple(side for side in SIDES if ends[side].winner is not None),
    )


def _courts(state: State) -> tuple[Court, ...]:
    if state.deciding_point:
        return ("deuce", "ad")
    return ("deuce",) if sum(state.points) % 2 == 0 else ("ad",)


def _break_point(state: State, game_point: tuple[Side, ...]) -> tuple[Side, ...] | None:
    if state.in_tie_break:
        return ()
    if state.server is None:
        return None
    receiver = other(state.server)
    return (receiver,) if receiver in game_point else ()
