"""Playing points: the state after one more point."""

from __future__ import annotations

from dataclasses import replace

from tacticapi.scoring.errors import Fault, ScoreError
from tacticapi.scoring.sides import SIDES, Pair, Side, other, plus_one
from tacticapi.scoring.state import FORTY, State


def after(state: State, winner: Side) -> State:
    """The state once `winner` has won the next point. Raises ScoreError when no point can follow."""
    if winner not in SIDES:
        raise ScoreError([Fault(("winner",), winner, "own or opponent")])
    if state.winner is not None:
        raise ScoreError([Fault(("winner",), winner, "no point after the match is decided")])
    points = plus_one(state.points, winner)
    if _game_is_over(state, points):
        return _after_game(state, winner, points)
    if state.in_tie_break:
        changes = sum(state.points) % 2 == 0
        server = other(state.server) if state.server is not None and changes else state.server
        return replace(state, points=points, server=server)
    back_to_deuce = min(points) > FORTY
    return replace(state, points=(FORTY, FORTY) if back_to_deuce else points)


def _game_is_over(state: State, points: Pair) -> bool:
    if state.in_tie_break and state.rule.tie_break is not None:
        return state.rule.tie_break.is_over(points)
    lead = abs(points[0] - points[1])
    return max(points) > FORTY and (lead >= 2 or state.format.no_ad)


def _after_game(state: State, winner: Side, points: Pair) -> State:
    starter = state.first_server_of_game
    server = None if starter is None else other(starter)
    games = plus_one(state.games, winner)
    result = points if state.rule.is_match_tie_break else games
    if not state.rule.is_result(result):
        return replace(state, games=games, points=(0, 0), server=server)
    ended = State(state.format, (*state.sets, result), server=server)
    return ended if ended.winner is None else replace(ended, server=None)
