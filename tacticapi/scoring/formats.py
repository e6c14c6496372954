"""Define the rules of scoring: the two sides, how a set ends, match formats, and faults in a score or a format.

Law: Rules of Tennis, Rules 5 to 7, 10 and appendix V (the text of one edition was seen for short sets, match
tie-breaks, no-ad and both orders of changing ends; the change after four points of a short-set tie-break is from
memory). A pair is always [own, opponent].
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any, Final, Literal, get_args

Side = Literal["own", "opponent"]
Pair = tuple[int, int]

SIDES: Final[tuple[Side, Side]] = ("own", "opponent")
SetKind = Literal["tie-break-7", "advantage"]
FinalSetKind = Literal["tie-break-7", "tie-break-10", "advantage", "match-tie-break-7", "match-tie-break-10"]
TieBreakEnds = Literal["every-6", "after-1-then-every-4"]

FULL_SET_GAMES: Final = 6
SHORT_SET_GAMES: Final = 4
TIE_BREAK_POINTS: Final = 7
SHORT_TIE_BREAK_POINTS: Final = 5
LONG_TIE_BREAK_POINTS: Final = 10


def other(side: Side) -> Side:
    """Return the player on the other side of the net."""
    return "opponent" if side == "own" else "own"


def plus_one(pair: Pair, side: Side) -> Pair:
    """Return the pair with one added for `side`."""
    return (pair[0] + 1, pair[1]) if side == "own" else (pair[0], pair[1] + 1)


def leader(pair: Pair) -> Side:
    """Return the side with the larger count; the pair must not be level."""
    return "own" if pair[0] > pair[1] else "opponent"


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: its path in the posted data, the value there (None if it is missing), and what was expected."""

    path: tuple[str | int, ...]
    value: Any
    expected: str

    def __str__(self) -> str:
        where = ".".join(str(part) for part in self.path) or "score"
        return f"{where}: {self.value!r}, expected {self.expected}"


class ScoreError(ValueError):
    """Raised for an impossible score or format; `faults` lists every fault, in reading order."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(str(fault) for fault in self.faults))


def _before_last(pair: Pair) -> Pair:
    return (pair[0] - 1, pair[1]) if pair[0] > pair[1] else (pair[0], pair[1] - 1)


@dataclass(frozen=True, slots=True)
class TieBreak:
    """First to `points` with a lead of two; with `deciding_point`, a single point decides at `points` - 1 all."""

    points: int
    deciding_point: bool = False

    def is_over(self, points: Pair) -> bool:
        """Report whether the tie-break is over at these points."""
        return max(points) >= self.points and (self.deciding_point or abs(points[0] - points[1]) >= 2)

    def is_last_score(self, points: Pair) -> bool:
        """Report whether these points can be the final score of this tie-break."""
        return self.is_over(points) and not self.is_over(_before_last(points))

    def is_deciding(self, points: Pair) -> bool:
        """Report whether the next point decides the tie-break for either player."""
        return self.deciding_point and points[0] == points[1] == self.points - 1


@dataclass(frozen=True, slots=True)
class SetRule:
    """First to `games` by two, with a `tie_break` at `tie_break_at` all; a match tie-break is a set with 0 games."""

    games: int
    tie_break_at: int | None
    tie_break: TieBreak | None

    @property
    def is_match_tie_break(self) -> bool:
        """Report whether a tie-break replaces the whole set."""
        return self.games == 0

    def in_tie_break(self, games: Pair) -> bool:
        """Report whether the next game of the set is its tie-break."""
        return self.tie_break is not None and games[0] == games[1] == self.tie_break_at

    def is_result(self, result: Pair) -> bool:
        """Report whether a pair can be the result of this set."""
        if self.is_match_tie_break and self.tie_break is not None:
            return self.tie_break.is_last_score(result)
        return not self.is_open(result) and self.is_open(_before_last(result))

    def is_open(self, games: Pair) -> bool:
        """Report whether this set can still be in progress at this game score."""
        if self.is_match_tie_break:
            return games == (0, 0)
        below = self.tie_break_at is None or max(games) <= self.tie_break_at
        return below and (max(games) < self.games or abs(games[0] - games[1]) <= 1)

    @property
    def results_in_words(self) -> str:
        """Return the results that this set allows, for an error message."""
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
        """Return the games at which this set is in progress, for an error message."""
        if self.is_match_tie_break:
            return "0-0 in games during a match tie-break"
        end = "" if self.tie_break_at is None else f", at most {self.tie_break_at} each"
        return f"games of a set in progress: to {self.games} by two{end}; a finished set belongs in sets"


@dataclass(frozen=True)
class Format:
    """One match format; `Format()` is best of three sets to six, with a tie-break to seven at six all.

    `final_set` is the rule for the last possible set (None: the same as `set`); `tie_break_at` is `games` or one fewer;
    a tie-break to 5 has a deciding point at 4-4. Raises ScoreError, which names every invalid field.
    """

    sets: int = 3
    games: int = FULL_SET_GAMES
    tie_break_at: int | None = None
    set: SetKind = "tie-break-7"
    final_set: FinalSetKind | None = None
    no_ad: bool = False
    tie_break_points: int | None = None
    tie_break_ends: TieBreakEnds = "every-6"

    def __post_init__(self) -> None:
        if faults := list(_faults(self)):
            raise ScoreError(faults)

    @classmethod
    def from_wire(cls, wire: Mapping[str, object] | None) -> "Format":
        """Return the format in a request; absent or null means the default. Raises ScoreError with every fault."""
        if wire is None:
            return cls()
        if not isinstance(wire, Mapping):
            raise ScoreError([Fault((), wire, "an object with the fields of a format")])
        known = f"one of {', '.join(_FIELDS)}"
        unknown = [Fault((str(name),), wire[name], known) for name in wire if name not in _FIELDS]
        given = {name: wire[name] for name in _FIELDS if wire.get(name) is not None}
        try:
            made = cls(**given)  # type: ignore[arg-type]
        except ScoreError as refused:
            raise ScoreError([*unknown, *refused.faults]) from None
        if unknown:
            raise ScoreError(unknown)
        return made

    @property
    def sets_to_win(self) -> int:
        """Return how many sets are needed to win the match."""
        return self.sets // 2 + 1

    def set_rule(self, index: int) -> SetRule:
        """Return the rule for the set with this index, counted from 0."""
        return self._rules[index == self.sets - 1]

    @cached_property
    def _rules(self) -> tuple[SetRule, SetRule]:
        return _rule_of(self, self.set), _rule_of(self, self.final_set or self.set)


_DEFAULTS: Final = {field.name: field.default for field in fields(Format)}
_FIELDS: Final = tuple(_DEFAULTS)
_ALLOWED: Final[Mapping[str, tuple[object, ...]]] = {  # and for tie_break_at the games of a set, or one fewer
    "sets": (1, 3, 5),
    "games": (SHORT_SET_GAMES, FULL_SET_GAMES),
    "set": get_args(SetKind),
    "final_set": get_args(FinalSetKind),
    "no_ad": (True, False),
    "tie_break_points": (SHORT_TIE_BREAK_POINTS, TIE_BREAK_POINTS),
    "tie_break_ends": get_args(TieBreakEnds),
}


def _rule_of(fmt: Format, kind: str) -> SetRule:
    if kind == "advantage":
        return SetRule(fmt.games, None, None)
    points = LONG_TIE_BREAK_POINTS if kind.endswith("-10") else TIE_BREAK_POINTS
    if kind.startswith("match-tie-break"):
        return SetRule(0, 0, TieBreak(points))
    if kind == "tie-break-7":
        usual = SHORT_TIE_BREAK_POINTS if fmt.games == SHORT_SET_GAMES else TIE_BREAK_POINTS
        points = fmt.tie_break_points or usual
    at = fmt.games if fmt.tie_break_at is None else fmt.tie_break_at
    return SetRule(fmt.games, at, TieBreak(points, points == SHORT_TIE_BREAK_POINTS))


def _faults(fmt: Format) -> Iterator[Fault]:
    games = fmt.games if fmt.games in _ALLOWED["games"] else FULL_SET_GAMES
    for name in _FIELDS:
        value, allowed = getattr(fmt, name), _ALLOWED.get(name, (games - 1, games))
        if value is None and _DEFAULTS[name] is None:
            continue
        if type(value) is not type(allowed[0]) or value not in allowed:
            words = "true or false" if name == "no_ad" else "one of " + ", ".join(map(str, allowed))
            yield Fault((name,), value, words)
