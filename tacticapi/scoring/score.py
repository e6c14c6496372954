"""Represent a score: its counts, what the next point could decide, and changes of ends (Rules of Tennis, Rule 10)."""

from dataclasses import dataclass, replace
from typing import Annotated, Final, Literal, NamedTuple

from tacticapi.scoring.formats import SIDES, Fault, Format, Pair, ScoreError, SetRule, Side, leader, other, plus_one

GAME_CALLS: Final = ("0", "15", "30", "40", "AD")
FORTY: Final = GAME_CALLS.index("40")
EVERY_SIX: Final = 6
AFTER_ONE_THEN: Final = 4
SHORT_TIE_BREAK_ONCE: Final = 4
Court = Literal["deuce", "ad"]


@dataclass(frozen=True, slots=True)
class State:
    """A possible score, in pairs (own, opponent); the result of a match tie-break is its points.

    `points`: 3 for 40, 4 for AD, always (3, 3) at deuce. `server`: who serves next; None if unknown or decided.
    """

    format: Format
    sets: tuple[Pair, ...] = ()
    games: Pair = (0, 0)
    points: Pair = (0, 0)
    server: Side | None = None

    @property
    def sets_won(self) -> Pair:
        """Return the sets won by each player."""
        own = sum(result[0] > result[1] for result in self.sets)
        return own, len(self.sets) - own

    @property
    def winner(self) -> Side | None:
        """Return the winner of the match; None while it is undecided."""
        if len(self.sets) < self.format.sets_to_win:
            return None
        won = self.sets_won
        return leader(won) if max(won) == self.format.sets_to_win else None

    @property
    def rule(self) -> SetRule:
        """Return the rule for the current set; once the match is decided, for its last set."""
        played = len(self.sets)
        return self.format.set_rule(played if self.winner is None else played - 1)

    @property
    def in_tie_break(self) -> bool:
        """Report whether the next point belongs to a tie-break."""
        return self.winner is None and self.rule.in_tie_break(self.games)

    @property
    def deciding_point(self) -> bool:
        """Report whether a single point decides the game for either player (no-ad, or a short tie-break)."""
        if self.in_tie_break and self.rule.tie_break is not None:
            return self.rule.tie_break.is_deciding(self.points)
        return self.format.no_ad and self.winner is None and self.points == (FORTY, FORTY)

    @property
    def first_server_of_set(self) -> Side | None:
        """Return who served the first game of the current set; None if the server is unknown."""
        starter = self.first_server_of_game
        return other(starter) if starter and sum(self.games) % 2 else starter

    @property
    def first_server_of_game(self) -> Side | None:
        """Return who served the first point of the current game or tie-break; None if the server is unknown."""
        if self.server is None or not self.in_tie_break or first_server_serves(sum(self.points)):
            return self.server
        return other(self.server)

    def with_points(self, points: Pair) -> "State":
        """Return the same game or tie-break with other points, and with the server adjusted."""
        first = self.first_server_of_game
        moved = self.in_tie_break and not first_server_serves(sum(points))
        return replace(self, points=points, server=other(first) if first and moved else first)

    def to_wire(self) -> dict[str, object]:
        """Return the score in the form used in requests; `read_score` turns it back into an equal state."""
        calls = [str(count) if self.in_tie_break else GAME_CALLS[count] for count in self.points]
        return {
            "sets": [list(result) for result in self.sets],
            "games": list(self.games),
            "points": calls,
            "server": self.server,
        }


def first_server_serves(point: int) -> bool:
    """Report whether a tie-break's first server serves this point, counted from 0: first one serve, then two each."""
    return ((point + 1) // 2) % 2 == 0


def after(state: State, winner: Side) -> State:
    """Return the state after `winner` wins the next point. Raises ScoreError if no point can follow."""
    if winner not in SIDES:
        raise ScoreError([Fault(("winner",), winner, "own or opponent")])
    if state.winner is not None:
        raise ScoreError([Fault(("winner",), winner, "no point after the match is decided")])
    points = plus_one(state.points, winner)
    if state.in_tie_break and state.rule.tie_break is not None:
        over = state.rule.tie_break.is_over(points)
    else:
        over = max(points) > FORTY and (abs(points[0] - points[1]) >= 2 or state.format.no_ad)
    if not over:
        return state.with_points((FORTY, FORTY) if not state.in_tie_break and min(points) > FORTY else points)
    starter = state.first_server_of_game
    server = None if starter is None else other(starter)
    games = plus_one(state.games, winner)
    result = points if state.rule.is_match_tie_break else games
    if not state.rule.is_result(result):
        return replace(state, games=games, points=(0, 0), server=server)
    ended = State(state.format, (*state.sets, result), server=server)
    return ended if ended.winner is None else replace(ended, server=None)


def games_in(state: State, index: int) -> int:
    """Return how many games the finished set with this index (from 0) had; a tie-break counts as one game."""
    return 1 if state.format.set_rule(index).is_match_tie_break else sum(state.sets[index])


def games_completed(state: State) -> int:
    """Return the number of games finished in the match so far."""
    return sum(games_in(state, index) for index in range(len(state.sets))) + sum(state.games)


def place(state: State) -> tuple[int, int]:
    """Return the current (set, game), both counted from 1; once the match is decided, the last."""
    if state.winner is not None:
        return len(state.sets), games_in(state, len(state.sets) - 1)
    return len(state.sets) + 1, sum(state.games) + 1


def ends_change_after_game(state: State) -> bool:
    """Return whether players change ends after this game: after every odd game of a set, but not after the match."""
    last_set = len(state.sets) == state.format.sets - 1
    if state.winner is not None or (last_set and state.in_tie_break):
        return False
    return (sum(state.games) + 1) % 2 == 1


def points_to_end_change(state: State) -> int | None:
    """Return the points until the next change of ends in a tie-break; None outside one or if none is left."""
    return _points_to_change(state, sum(state.points)) if state.in_tie_break else None


def _points_to_change(state: State, played: int) -> int | None:
    if state.rule.tie_break is not None and state.rule.tie_break.deciding_point:
        return SHORT_TIE_BREAK_ONCE - played if played < SHORT_TIE_BREAK_ONCE else None
    if state.format.tie_break_ends == "every-6":
        return EVERY_SIX - played % EVERY_SIX
    return 1 if played == 0 else AFTER_ONE_THEN - (played - 1) % AFTER_ONE_THEN


def is_change_of_ends(state: State) -> bool:
    """Report whether players change ends exactly at this score, before the next point."""
    if state.winner is not None:
        return False
    if state.in_tie_break and state.points != (0, 0):
        return _points_to_change(state, sum(state.points) - 1) == 1
    if state.points != (0, 0):
        return False
    if state.games == (0, 0):
        return bool(state.sets) and games_in(state, len(state.sets) - 1) % 2 == 1
    return sum(state.games) % 2 == 1


Players = tuple[Annotated[Side, "A player."], ...]


@dataclass(frozen=True, slots=True)
class NextPoint:
    """The next point, and who could win game, set or match with it; `break_point` is None if the server is unknown."""

    server: Annotated[Side | None, "Who serves; absent if unknown or if the match is over."]
    courts: Annotated[tuple[Annotated[Court, "A court."], ...], "The service court; both if the receiver chooses."]
    in_tie_break: bool
    deciding_point: Annotated[bool, "True if this point decides the game for either player."]
    game_point: Annotated[Players, "Who wins the game or tie-break by winning this point."]
    break_point: Annotated[
        Players | None, "The receiver, if winning this point wins the game; absent if the server is unknown."
    ]
    set_point: Annotated[Players, "Who wins the set by winning this point."]
    match_point: Annotated[Players, "Who wins the match by winning this point."]


def next_point(state: State) -> NextPoint:
    """Return the next point of a match; once the match is decided, nothing is at stake and no court is given."""
    if state.winner is not None:
        return NextPoint(None, (), False, False, (), (), (), ())
    ends = {side: after(state, side) for side in SIDES}
    game = tuple(side for side in SIDES if ends[side].sets != state.sets or ends[side].games != state.games)
    broken = None if state.server is None else tuple(side for side in game if side != state.server)
    return NextPoint(
        server=state.server,
        courts=("deuce", "ad") if state.deciding_point else ("ad",) if sum(state.points) % 2 else ("deuce",),
        in_tie_break=state.in_tie_break,
        deciding_point=state.deciding_point,
        game_point=game,
        break_point=() if state.in_tie_break else broken,
        set_point=tuple(side for side in SIDES if ends[side].sets != state.sets),
        match_point=tuple(side for side in SIDES if ends[side].winner is not None),
    )


class Standing(NamedTuple):
    """A score in terms that rules use; leads are own minus opponent, in sets, and in this set's games and breaks."""

    games_ahead: int
    sets_ahead: int
    breaks_ahead: int
    games_completed: int
    set_number: int
    in_tie_break: bool
    serves_for_set: Side | None


def standing(state: State) -> Standing:
    """Return a match's standing. If the server is unknown, the lead in breaks is half the lead in games."""
    games_ahead, sets, for_set = state.games[0] - state.games[1], state.sets_won, state.server
    if state.winner or state.in_tie_break or not for_set or not state.rule.is_result(plus_one(state.games, for_set)):
        for_set = None
    first, played = state.first_server_of_set, sum(state.games)
    held = (played + 1) // 2 if first == "own" else played // 2
    return Standing(
        games_ahead,
        sets[0] - sets[1],
        state.games[0] - held if first else int(games_ahead / 2),
        games_completed(state),
        place(state)[0],
        state.in_tie_break,
        for_set,
    )
