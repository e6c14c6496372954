"""Points played stroke by stroke, with what an onlooker could see of each, and the score they make.

The opponent's nerves fade over the first games, tiredness grows, and an adapting opponent expects more each game.
"""

from bisect import bisect
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from random import Random
from typing import NamedTuple

import numpy as np

from tests.rehearsal.world.habits import Habits
from tests.rehearsal.world.points import EXPECTED, LONG_FROM, READ_RIGHT, READ_WRONG, expecting
from tests.rehearsal.world.qualities import Nature, Player
from tests.rehearsal.world.shots import (
    BALL,
    FIRST_PLAY,
    KINDS,
    NEXT_GOOD,
    NEXT_WEAK,
    PLAY_SHOT,
    SPOTS,
    STATE_BALL,
    Floats,
    serve_side,
    state,
)
from tests.rehearsal.world.strokes import ERROR, GOOD, WINNER, Hitting

OFF_DAY = 0.7  # log-odds of an error when nerves or legs fail altogether
NERVES_FADE, TIRED_FROM, TIRED_FULL = 2.5, 10.0, 20.0  # games
MOST_SPOILT = 0.9
ADAPTED_AFTER = 5.0  # games
SHORT_RALLY_BALLS = BALL["short"]

_GOOD_TO, _WEAK_TO = NEXT_GOOD.tolist(), NEXT_WEAK.tolist()
_FIRST = FIRST_PLAY.tolist()
_SHOT_OF, _BALL_OF = PLAY_SHOT.tolist(), STATE_BALL.tolist()

OWN, OTHER = 0, 1
MINE = ("own", "own-long", "right", "wrong")  # tables of the user's plan


class Stroke(NamedTuple):
    """One stroke: who hit, the play and its outcome, whether the user's ball changed its kind, the stroke's number."""

    by: int
    play: int
    outcome: int
    changed: bool
    number: int


class Point(NamedTuple):
    """One point: server, court, the faults before, the serve that landed (kind and spot, None for a double fault).

    `side` is the side of the receiver that it reached; a serve without a stroke after it is an ace.
    """

    server: int
    court: int
    faults: int
    first: tuple[int, int]
    serve: tuple[int, int] | None
    strokes: tuple[Stroke, ...]
    winner: int
    game: int
    side: int | None = None


Table = list[float]
"""Running sums over all plays in order, four outcomes each, after a 0; the plays of a state lie side by side."""


def _table(mix: Floats, chances: Floats) -> Table:
    return [0.0, *np.cumsum(mix[:, None] * chances).tolist()]


@dataclass(slots=True)
class Court:
    """A pairing at play: tables of the opponent by mood, of the user by plan."""

    own: Player
    other: Player
    nature: Nature
    habits: Habits
    rng: Random
    plan: Habits
    lean: tuple[int, int] | None = None
    tables: dict[str, Table] = field(default_factory=dict)
    _hitting: dict[str, tuple[Hitting, float]] = field(default_factory=dict)
    _off: dict[int, float] = field(default_factory=dict)
    expects: list[float] = field(default_factory=list)
    serving: list[tuple[list[list[list[float]]], list[float]]] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Prepare the opponent's tables once and the user's for the first plan."""
        o = self.other
        theirs, mine = Hitting(o, self.own), Hitting(self.own, o)
        self._hitting = {
            "same": (theirs, 0.0), "changed": (theirs, o.rhythm), "expecting": (theirs, EXPECTED),
            "off": (theirs, OFF_DAY), "long": (theirs, -o.tolerance), "own": (mine, 0.0),
            "own-long": (mine, -self.own.tolerance), "right": (mine, READ_RIGHT), "wrong": (mine, READ_WRONG),
        }  # fmt: skip
        self.play(self.plan, self.lean)

    def play(self, plan: Habits, lean: tuple[int, int] | None) -> None:
        """Change the user's plan."""
        self.plan, self.lean = plan, lean
        for name in MINE:
            self.tables.pop(name, None)
        self.serving = [_serving(plan.serves, self.own.serves_in), _serving(self.habits.serves, self.other.serves_in)]
        self.expects = expecting(plan.mix, adapting(self.nature)).tolist()

    def _table(self, name: str) -> Table:
        """Work out the table of a mood or of the user's plan, which is kept for the strokes to come."""
        hitting, worse = self._hitting[name]
        mix = self.plan.mix if name in MINE else self.habits.mix
        self.tables[name] = table = _table(mix, hitting.outcomes(worse))
        return table

    def point(self, server: int, court: int, game: int) -> Point:
        """Play one point; `game` counts from 0 over the match."""
        faults, first, serve = self._serve(server, court)
        if serve is None:
            return Point(server, court, faults, first, None, (), 1 - server, game)
        receiver = 1 - server
        left = self.other.left if receiver == OTHER else self.own.left
        side = serve_side(court, serve[1], left)
        if self.rng.random() < (self.own if server == OWN else self.other).aces[serve]:
            return Point(server, court, faults, first, serve, (), server, game, side)
        at = state(f"{KINDS[serve[0]]}/{SPOTS[serve[1]]}", side)
        strokes, winner = self._rally(receiver, at, self._read(receiver, court, serve[1]), game)
        return Point(server, court, faults, first, serve, tuple(strokes), winner, game, side)

    def _read(self, receiver: int, court: int, spot: int) -> str:
        if receiver == OTHER or self.lean is None:
            return "own"
        return "right" if self.lean[court] == spot else "wrong"

    def _serve(self, server: int, court: int) -> tuple[int, tuple[int, int], tuple[int, int] | None]:
        serves, serves_in = self.serving[server]
        first = (0, 0)
        for number in range(2):
            kind, spot = divmod(_draw(serves[number][court], self.rng.random()), 3)
            first = first if number else (kind, spot)
            if self.rng.random() < serves_in[kind]:
                return number, first, (kind, spot)
        return 2, first, None

    def _rally(self, by: int, at: int, own_return: str, game: int) -> tuple[list[Stroke], int]:
        strokes: list[Stroke] = []
        off = self.off_share(game)
        adapted = min(1.0, game / ADAPTED_AFTER)
        number, before, changed, draw, tables = 2, -1, False, self.rng.random, self.tables
        while True:
            if by == OWN:
                name = own_return if number == 2 else "own" if number < LONG_FROM else "own-long"
            else:
                name = self._mood(at, changed, off, adapted, number)
            table, low, high = tables.get(name) or self._table(name), 4 * _FIRST[at], 4 * _FIRST[at + 1]
            wanted = table[low] + draw() * (table[high] - table[low])
            play, outcome = divmod(bisect(table, wanted, low + 1, high) - 1, 4)
            strokes.append(Stroke(by, play, outcome, changed and by == OTHER, number))
            if outcome == ERROR:
                return strokes, 1 - by
            if outcome == WINNER:
                return strokes, by
            if by == OWN:
                shot = _SHOT_OF[play]
                changed, before = before not in (-1, shot), shot
            at = (_GOOD_TO if outcome == GOOD else _WEAK_TO)[play]
            by, number = 1 - by, number + 1

    def _mood(self, at: int, changed: bool, off: float, adapted: float, number: int) -> str:
        draw = self.rng.random()
        if draw < off:
            return "off"
        if draw < off + self.expects[at] * adapted:
            return "expecting"
        if changed and _BALL_OF[at] < SHORT_RALLY_BALLS:
            return "changed"
        return "long" if number >= LONG_FROM else "same"

    def off_share(self, game: int) -> float:
        """Share of strokes spoilt by nerves or tiredness in a game."""
        if game not in self._off:
            self._off[game] = self._spoilt(game)
        return self._off[game]

    def _spoilt(self, game: int) -> float:
        z = self.nature
        nerves = max(0.0, 0.25 * z["nerves"]) * float(np.exp(-game / NERVES_FADE))
        tired = max(0.0, -0.2 * z["stamina"]) * min(1.0, max(0.0, game - TIRED_FROM) / TIRED_FULL)
        return float(min(MOST_SPOILT, nerves + tired))


def adapting(nature: Nature) -> float:
    """How far (0 to 1) an opponent adapts."""
    return float(np.clip(0.35 + 0.25 * nature["adapts"], 0.0, 1.0))


def _serving(serves: Floats, serves_in: Floats) -> tuple[list[list[list[float]]], list[float]]:
    return serves.reshape(2, 2, -1).tolist(), serves_in.tolist()


def _draw(weights: Sequence[float], draw: float) -> int:
    for i, weight in enumerate(weights[:-1]):
        draw -= weight
        if draw < 0:
            return i
    return len(weights) - 1


@dataclass(slots=True)
class Score:
    """A best-of-three tie-break-set match under way; pairs are [own, opponent]."""

    sets: list[list[int]] = field(default_factory=list)
    games: list[int] = field(default_factory=lambda: [0, 0])
    played: int = 0
    server: int = OWN

    @property
    def over(self) -> bool:
        """Whether the match is decided."""
        return max(self._won(OWN), self._won(OTHER)) == 2

    def _won(self, who: int) -> int:
        return sum(s[who] > s[1 - who] for s in self.sets)

    def won_game(self, who: int) -> None:
        """Enter a game (or the tie-break) and close the set where it is won."""
        self.games[who] += 1
        self.played += 1
        self.server = 1 - self.server
        a, b = self.games[who], self.games[1 - who]
        if (a >= 6 and a - b >= 2) or a == 7:
            self.sets.append(self.games)
            self.games = [0, 0]

    def wire(self) -> Mapping[str, object]:
        """The score in plain form at the start of a game."""
        names = ("own", "opponent")
        return {
            "sets": [list(s) for s in self.sets], "games": list(self.games), "points": ["0", "0"],
            "server": names[self.server],
        }  # fmt: skip


def play_game(court: Court, score: Score) -> list[Point]:
    """Play one game or, at six games all, a tie-break, and enter it in the score."""
    tie_break = score.games == [6, 6]
    target = 7 if tie_break else 4
    won = [0, 0]
    points: list[Point] = []
    while max(won) < target or abs(won[0] - won[1]) < 2:
        n = len(points)
        server = score.server if not tie_break or (n + 1) // 2 % 2 == 0 else 1 - score.server
        point = court.point(server, n % 2, score.played)
        points.append(point)
        won[point.winner] += 1
    score.won_game(OWN if won[0] > won[1] else OTHER)
    return points
