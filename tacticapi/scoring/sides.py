"""The two sides of a match. A pair always reads [own, opponent]."""

from __future__ import annotations

from typing import Final, Literal

Side = Literal["own", "opponent"]
Pair = tuple[int, int]

SIDES: Final[tuple[Side, Side]] = ("own", "opponent")


def other(side: Side) -> Side:
    """The player across the net."""
    return "opponent" if side == "own" else "own"


def plus_one(pair: Pair, side: Side) -> Pair:
    """The pair with one more for `side`."""
    return (pair[0] + 1, pair[1]) if side == "own" else (pair[0], pair[1] + 1)


def leader(pair: Pair) -> Side:
    """Who has more of a pair that is not level."""
    return "own" if pair[0] > pair[1] else "opponent"
