"""What ends a set and a tie-break (Rules of Tennis, Rules 5 and 6, and appendix V for the alternatives)."""

from __future__ import annotations

from dataclasses import dataclass

from tacticapi.scoring.sides import Pair


def _won_by_two(to: int, pair: Pair) -> bool:
    high, low = max(pair), min(pair)
    return (high == to and low <= to - 2) or (high > to and high - low == 2)


@dataclass(frozen=True, slots=True)
class TieBreak:
    """First to `points` with a lead of two; with `deciding_point`, one point decides at one short of that all."""

    points: int
    deciding_point: bool = False

    def is_over(self, points: Pair) -> bool:
        """Whether a count of points, reached one by one, has been won."""
        lead = abs(points[0] - points[1])
        return max(points) >= self.points and (lead >= 2 or (lead == 1 and self.deciding_point))

    def is_last_score(self, points: Pair) -> bool:
        """Whether the points can be the final score of this tie-break."""
        if self.deciding_point and max(points) == self.points:
            return min(points) < self.points
        return not self.deciding_point and _won_by_two(self.points, points)

    def is_open_score(self, points: Pair) -> bool:
        """Whether this tie-break can be in progress at these points."""
        if max(points) < self.points:
            return True
        return not self.deciding_point and abs(points[0] - points[1]) <= 1

    def is_deciding(self, points: Pair) -> bool:
        """Whether a single point now decides for either player."""
        return self.deciding_point and points[0] == points[1] == self.points - 1


@dataclass(frozen=True, slots=True)
class SetRule:
    """First to `games` with a lead of two, `tie_break` at `tie_break_at` games all (None: an advantage set).

    A match tie-break is a set of no games whose tie-break stands at nil all, and its result is its points.
    """

    games: int
    tie_break_at: int | None
    tie_break: TieBreak | None

    @property
    def is_match_tie_break(self) -> bool:
        """Whether one tie-break stands in for the whole set."""
        return self.games == 0

    def in_tie_break(self, games: Pair) -> bool:
        """Whether the next game of the set is its tie-break."""
        return self.tie_break is not None and games[0] == games[1] == self.tie_break_at

    def is_result(self, result: Pair) -> bool:
        """Whether a pair can stand as the result of this set."""
        if self.tie_break is None or self.tie_break_at is None:
            return _won_by_two(self.games, result)
        if self.is_match_tie_break:
            return self.tie_break.is_last_score(result)
        if (max(result), min(result)) == (self.tie_break_at + 1, self.tie_break_at):
            return True
        return max(result) <= self.tie_break_at + 1 and _won_by_two(self.games, result)

    def is_open(self, games: Pair) -> bool:
        """Whether this set can be in progress at these games."""
        if self.is_match_tie_break:
            return games == (0, 0)
        below = self.tie_break_at is None or max(games) <= self.tie_break_at
        return below and (max(games) < self.games or abs(games[0] - games[1]) <= 1)

    @property
    def results_in_words(self) -> str:
        """The results this set allows, for a refusal."""
        if self.is_match_tie_break and self.tie_break is not None:
            points = self.tie_break.points
            return f"the points of a finished match tie-break: {points}, or more if level at {points - 1}, by two"
        games = self.games
        if self.tie_break_at is None:
            return f"a finished advantage set: {games} games, or more if level at {games - 1}, by two"
        if self.tie_break_at == games:
            return f"a finished set: {games} games by two, {games + 1}-{games - 1} or {games + 1}-{games}"
        return f"a finished set: {games} games by two, or {games}-{games - 1}"

    @property
    def open_games_in_words(self) -> str:
        """The games at which this set is in progress, for a refusal."""
        if self.is_match_tie_break:
            return "0-0 in games during a match tie-break"
        end = "" if self.tie_break_at is None else f", at most {self.tie_break_at} each"
        return f"games of a set in progress: to {self.games} by two{end}; a finished set belongs in sets"
