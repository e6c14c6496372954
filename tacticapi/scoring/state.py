"""The score of a match at one moment, in counts, and what it says about the match itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from tacticapi.scoring.formats import Format
from tacticapi.scoring.set_rules import SetRule
from tacticapi.scoring.sides import Pair, Side, leader, other

GAME_CALLS: Final = ("0", "15", "30", "40", "AD")
FORTY: Final = GAME_CALLS.index("40")


@dataclass(frozen=True, slots=True)
class State:
    """A possible score; pairs are (own, opponent), points are counted.

    sets: results of the finished sets (a match tie-break as its points). games: of the set in progress.
    points: of the game in progress, 3 for 40 and 4 for AD, with deuce always (3, 3); in a tie-break the plain count.
    server: who serves the next point; None when unknown or when the match is decided.
    States come from `read_score`, `after` and `play`, which let no impossible score through.
    """

    format: Format
    sets: tuple[Pair, ...] = ()
    games: Pair = (0, 0)
    points: Pair = (0, 0)
    server: Side | None = None

    @property
    def sets_won(self) -> Pair:
        """Sets won by each player."""
        own = sum(result[0] > result[1] for result in self.sets)
        return own, len(self.sets) - own

    @property
    def winner(self) -> Side | None:
        """Who has won the match, None while it is open."""
        won = self.sets_won
        return leader(won) if max(won) == self.format.sets_to_win else None

    @property
    def rule(self) -> SetRule:
        """What ends the set in progress; of a decided match, the set that was last."""
        played = len(self.sets)
        return self.format.set_rule(played if self.winner is None else played - 1)

    @property
    def in_tie_break(self) -> bool:
        """Whether the next point belongs to a tie-break."""
        return self.winner is None and self.rule.in_tie_break(self.games)

    @property
    def deciding_point(self) -> bool:
        """Whether one point decides the game for either player, as the no-ad rule or a short tie-break has it."""
        if self.in_tie_break and self.rule.tie_break is not None:
            return self.rule.tie_break.is_deciding(self.points)
        return self.format.no_ad and self.winner is None and self.points == (FORTY, FORTY)

    @property
    def first_server_of_set(self) -> Side | None:
        """Who served the first game of the set in progress; None when the server is unknown."""
        starter = self.first_server_of_game
        if starter is None:
            return None
        return starter if sum(self.games) % 2 == 0 else other(starter)

    @property
    def first_server_of_game(self) -> Side | None:
        """Who served the first point of the game or tie-break in progress; None when the server is unknown."""
        if self.server is None or not self.in_tie_break or first_server_serves(sum(self.points)):
            return self.server
        return other(self.server)

    def with_points(self, points: Pair) -> State:
        """The same game or tie-break at other points, its server moved on accordingly."""
        first = self.first_server_of_game
        moved = first is not None and self.in_tie_break and not first_server_serves(sum(points))
        return replace(self, points=points, server=other(first) if first is not None and moved else first)

    def to_wire(self) -> dict[str, object]:
        """The score as a request states it; `read_score` reads it back to an equal state."""
        calls = [str(count) if self.in_tie_break else GAME_CALLS[count] for count in self.points]
        return {
            "sets": [list(result) for result in self.sets],
            "games": list(self.games),
            "points": calls,
            "server": self.server,
        }


def first_server_serves(point: int) -> bool:
    """Whether the first server of a tie-break serves this point of it, counted from 0: one serve, then two each."""
    return ((point + 1) // 2) % 2 == 0
