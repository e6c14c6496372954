"""Match formats: how many sets, what ends each of them, and how a game at deuce is decided.

Law: Rules of Tennis, Rules 5 to 7, 10 and appendix V (text of an edition seen for short sets, match tie-breaks,
no-ad and both orders of changing ends; the change after four points of a short-set tie-break is from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal, get_args

from tacticapi.scoring.errors import Fault, ScoreError
from tacticapi.scoring.set_rules import SetRule, TieBreak

SetKind = Literal["tie-break-7", "advantage"]
FinalSetKind = Literal["tie-break-7", "tie-break-10", "advantage", "match-tie-break-7", "match-tie-break-10"]
TieBreakEnds = Literal["every-6", "after-1-then-every-4"]

FULL_SET_GAMES: Final = 6
SHORT_SET_GAMES: Final = 4
TIE_BREAK_POINTS: Final = 7
SHORT_TIE_BREAK_POINTS: Final = 5
LONG_TIE_BREAK_POINTS: Final = 10


@dataclass(frozen=True)
class Format:
    """One match format; `Format()` is the best of three sets to six, tie-break to seven at six all.

    sets: 1, 3 or 5 at most. games: 6, or 4 for short sets. tie_break_at: games all at which the tie-break is
    played, `games` or one fewer; None takes `games`. set: every set but the last possible one. final_set: the last
    possible one (the only one of a best of one); None takes `set`. no_ad: one deciding point at deuce.
    tie_break_points: to how many the ordinary tie-break ("tie-break-7") is played, 7 or 5; None takes 7, and 5 in
    short sets. A tie-break to 5 has a deciding point at 4-4. tie_break_ends: when ends change within a tie-break.

    Raises ScoreError naming every field out of range.
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
        faults = [fault for fault in _faults(self) if fault is not None]
        if faults:
            raise ScoreError(faults)
        object.__setattr__(self, "tie_break_at", self.games if self.tie_break_at is None else self.tie_break_at)
        object.__setattr__(self, "final_set", self.set if self.final_set is None else self.final_set)
        if self.tie_break_points is None:
            short = self.games == SHORT_SET_GAMES
            object.__setattr__(self, "tie_break_points", SHORT_TIE_BREAK_POINTS if short else TIE_BREAK_POINTS)
        rules = tuple(_rule_of(self, kind) for kind in (self.set, self.final_set or self.set))
        object.__setattr__(self, "_rules", rules)

    @classmethod
    def from_wire(cls, wire: Mapping[str, object] | None) -> Format:
        """The format a request describes; fields that are absent or null take their defaults.

        Raises ScoreError with one fault for every unknown field and every value out of range.
        """
        if wire is None:
            return cls()
        if not isinstance(wire, Mapping):
            raise ScoreError([Fault((), wire, "an object with the fields of a format")])
        unknown = [Fault((str(name),), wire[name], _KNOWN_FIELDS) for name in wire if name not in _FIELDS]
        given = {name: wire[name] for name in _FIELDS if wire.get(name) is not None}
        try:
            made = cls(**given)  # type: ignore[arg-type]
        except ScoreError as refused:
            raise ScoreError([*unknown, *refused.faults]) from None
        if unknown:
            raise ScoreError(unknown)
        return made

    def to_wire(self) -> dict[str, object]:
        """The format as a request would state it, every default filled in."""
        return {name: getattr(self, name) for name in _FIELDS}

    @property
    def sets_to_win(self) -> int:
        """How many sets win the match."""
        return self.sets // 2 + 1

    def set_rule(self, index: int) -> SetRule:
        """What ends the set with this index, counted from 0."""
        rules: tuple[SetRule, SetRule] = self._rules  # type: ignore[attr-defined]
        return rules[1] if index == self.sets - 1 else rules[0]

    @property
    def serving_first_matters(self) -> bool:
        """Whether who serves first changes the chance of a set.

        Only a tie-break with a deciding point gives one player a point more on serve; everything else is level.
        """
        rules = (self.set_rule(index) for index in range(self.sets))
        return any(rule.tie_break is not None and rule.tie_break.deciding_point for rule in rules)


_FIELDS: Final = tuple(Format.__dataclass_fields__)
_KNOWN_FIELDS: Final = "one of " + ", ".join(_FIELDS)


def _rule_of(fmt: Format, kind: str) -> SetRule:
    if kind == "advantage":
        return SetRule(fmt.games, None, None)
    points = LONG_TIE_BREAK_POINTS if kind.endswith("-10") else TIE_BREAK_POINTS
    if kind.startswith("match-tie-break"):
        return SetRule(0, 0, TieBreak(points))
    if kind == "tie-break-7" and fmt.tie_break_points is not None:
        points = fmt.tie_break_points
    return SetRule(fmt.games, fmt.tie_break_at, TieBreak(points, points == SHORT_TIE_BREAK_POINTS))


def _faults(fmt: Format) -> list[Fault | None]:
    def whole(name: str, allowed: tuple[int, ...]) -> Fault | None:
        value = getattr(fmt, name)
        return None if type(value) is int and value in allowed else Fault((name,), value, _one_of(allowed))

    def word(name: str, kinds: object) -> Fault | None:
        value, allowed = getattr(fmt, name), get_args(kinds)
        return None if isinstance(value, str) and value in allowed else Fault((name,), value, _one_of(allowed))

    games = fmt.games if fmt.games in (SHORT_SET_GAMES, FULL_SET_GAMES) else FULL_SET_GAMES
    return [
        whole("sets", (1, 3, 5)),
        whole("games", (SHORT_SET_GAMES, FULL_SET_GAMES)),
        None if fmt.tie_break_at is None else whole("tie_break_at", (games - 1, games)),
        word("set", SetKind),
        None if fmt.final_set is None else word("final_set", FinalSetKind),
        None if isinstance(fmt.no_ad, bool) else Fault(("no_ad",), fmt.no_ad, "true or false"),
        None if fmt.tie_break_points is None else whole("tie_break_points", (SHORT_TIE_BREAK_POINTS, TIE_BREAK_POINTS)),
        word("tie_break_ends", TieBreakEnds),
    ]


def _one_of(allowed: tuple[object, ...]) -> str:
    return "one of " + ", ".join(str(value) for value in allowed)
