"""The exact chance that the user wins a point, by solving the rally as an absorbing chain.

Up to stroke LONG_FROM the strokes are counted; after it tolerance weighs in and the chain is solved to its end.
Opponents handle a ball worse after a change of kind (rhythm) and, the more they adapt, better where the user
sends more than usual.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tests.rehearsal.world.habits import Habits
from tests.rehearsal.world.qualities import Player
from tests.rehearsal.world.shots import (
    BALL,
    KINDS,
    N_SHOTS,
    N_STATES,
    NEXT_GOOD,
    NEXT_WEAK,
    PLAY_BALL,
    PLAY_SHOT,
    PLAY_STATE,
    PLAY_TARGET,
    RALLY,
    SPOTS,
    STATE_BALL,
    STATE_SIDE,
    Floats,
    Ints,
    serve_side,
    state,
)
from tests.rehearsal.world.strokes import ERROR, GOOD, SHORT, WINNER, Hitting

LONG_FROM = 6  # strokes of a point, the serve counted, from which tolerance decides
READ_RIGHT, READ_WRONG = -0.35, 0.22  # log-odds of a return error when a serve is leaned to rightly and wrongly
EXPECTED = -0.45  # log-odds of an error on a ball that is fully expected
N_RALLY = 3 * len(RALLY)  # the states of a rally come first; no ball leads back to a return
_IN_RALLY = np.asarray(len(RALLY) > STATE_BALL)
_ORDINARY = (BALL["short"] > PLAY_BALL) / (3 * BALL["short"])  # ball kinds before "short" are ordinary rally balls


@dataclass(frozen=True, slots=True)
class Rally:
    """Chances of what a player hits: `lose` and `win` outright by state, `to` (states, rally states) of the other."""

    lose: Floats
    win: Floats
    to: Floats


def rally_of(mix: Floats, chances: Floats) -> Rally:
    """Put a mix of choices and their outcomes together."""
    weighted = mix[:, None] * chances
    to = np.zeros(N_STATES * N_RALLY)
    for outcome, follows in ((GOOD, NEXT_GOOD), (SHORT, NEXT_WEAK)):
        to += np.bincount(PLAY_STATE * N_RALLY + follows, weighted[:, outcome], minlength=len(to))
    lose, win = (_by_state(weighted[:, outcome]) for outcome in (ERROR, WINNER))
    return Rally(lose, win, to.reshape(N_STATES, N_RALLY))


def _by_state(of_plays: Floats) -> Floats:
    return np.bincount(PLAY_STATE, of_plays, minlength=N_STATES).astype(np.float64)


@dataclass(frozen=True, slots=True)
class Opposition:
    """One opponent against one user: chains of the opponent, steady and otherwise, and the user's outcomes."""

    same: Rally
    changed: Rally
    expecting: Rally
    long_same: Rally
    long_changed: Rally
    own: Floats
    own_long: Floats
    own_right: Floats
    own_wrong: Floats
    serves: Floats
    adapts: float
    own_left: bool
    left: bool
    own_in: Floats
    serves_in: Floats
    own_aces: Floats
    aces: Floats


def opposition(own: Player, other: Player, habits: Habits, adapts: float) -> Opposition:
    """Work out everything about a pairing that the user's choices do not change."""
    mix, rhythm, long_ = habits.mix, other.rhythm, -other.tolerance
    theirs, mine = Hitting(other, own).outcomes, Hitting(own, other).outcomes
    same, changed = theirs(), theirs(rhythm)
    return Opposition(
        rally_of(mix, same), rally_of(mix, changed), rally_of(mix, theirs(EXPECTED)),
        rally_of(mix, theirs(long_)), rally_of(mix, theirs(long_ + rhythm)),
        mine(), mine(-own.tolerance), mine(READ_RIGHT),
        mine(READ_WRONG), habits.serves, adapts, own.left, other.left, own.serves_in, other.serves_in,
        own.aces, other.aces,
    )  # fmt: skip


def variety(mix: Floats) -> float:
    """Chance that two rally balls of the user in a row are of different kinds."""
    kinds = np.bincount(PLAY_SHOT, mix * _ORDINARY, minlength=N_SHOTS)
    return float(1.0 - (kinds**2).sum())


def expecting(mix: Floats, adapts: float) -> Floats:
    """How far (0 to 1, by state) an opponent expects the ball: what comes to a wing beyond its half, while adapting."""
    shares = np.bincount(PLAY_TARGET, mix * _ORDINARY, minlength=3)
    beyond = np.clip(shares[:2] - 0.55, 0.0, None) * 2.0 * adapts
    side = np.append(beyond, 0.0)[STATE_SIDE]
    return np.asarray(np.where(_IN_RALLY, np.clip(side, 0.0, 1.0), 0.0))


def expecting_serves(serves: Floats, adapts: float) -> Floats:
    """How far (2 courts, 3 spots) a spot is expected: its share beyond a half, while adapting."""
    shares = serves[0].sum(axis=1)
    return np.asarray(np.clip((shares - 0.5) * 2.0 * adapts, 0.0, 1.0))


def _blend(a: Rally, b: Rally, share: Floats | float) -> Rally:
    w = np.broadcast_to(np.asarray(share, dtype=np.float64), (N_STATES,))
    return Rally(
        (1 - w) * a.lose + w * b.lose, (1 - w) * a.win + w * b.win, (1 - w)[:, None] * a.to + w[:, None] * b.to
    )


def point_chances(o: Opposition, habits: Habits, lean: tuple[int, int] | None = None) -> tuple[float, float]:
    """The user's chance to win a point on own serve and on return; `lean` is the spot leaned to by court."""
    mixed, expected = variety(habits.mix), expecting(habits.mix, o.adapts)
    other, other_long = _blend(o.same, o.changed, mixed), _blend(o.long_same, o.long_changed, mixed)
    if expected.any():
        other, other_long = (_blend(chain, o.expecting, expected) for chain in (other, other_long))
    own, own_long = rally_of(habits.mix, o.own), rally_of(habits.mix, o.own_long)
    mine, theirs = _solve(own_long, other_long)
    for _ in range(LONG_FROM - 3):  # from stroke LONG_FROM - 1 down to stroke 3, both players at once
        mine, theirs = _back(own, other, mine, theirs)
    returned = other.lose + other.to @ mine  # their return is stroke 2
    ready = o.expecting.lose + o.expecting.to @ mine
    serve = _on_serve(o, habits.serves, returned, ready)
    values = [chain.win + chain.to @ theirs for chain in _returns(o, habits.mix, own, lean)]
    return serve, _on_return(o, values, lean)


def worth(o: Opposition, habits: Habits) -> tuple[Floats, Floats]:
    """What each play (N_PLAYS) and each serve (2, 2, 4, 3) of the user is worth in chance to win the point."""
    other = _blend(o.same, o.changed, variety(habits.mix))
    mine, theirs = _solve(rally_of(habits.mix, o.own), other)
    play = o.own[:, WINNER] + o.own[:, GOOD] * theirs[NEXT_GOOD] + o.own[:, SHORT] * theirs[NEXT_WEAK]
    serve = np.zeros((2, 2, 4, 3))
    for court in range(2):
        lands = o.own_in[:, None] * _past(o.own_aces, _on_receiver(o, other.lose + other.to @ mine, court), 1.0)
        serve[1, court] = lands
        serve[0, court] = lands + (1.0 - o.own_in)[:, None] * float((habits.serves[1, court] * lands).sum())
    return np.asarray(play), serve


@lru_cache(maxsize=4)
def _serve_states(court: int, left: bool) -> Ints:
    """State of the receiver by kind and spot of the serve, (4, 3)."""
    return np.array(
        [[state(f"{k}/{SPOTS[spot]}", serve_side(court, spot, left)) for spot in range(3)] for k in KINDS],
        dtype=np.int64,
    )


def _on_receiver(o: Opposition, values: Floats, court: int) -> Floats:
    """Values by state turned into values by kind and spot of the user's serve."""
    return values[_serve_states(court, o.left)]


def _solve(own: Rally, other: Rally) -> tuple[Floats, Floats]:
    """The user's chance to win, before the user's stroke and before the opponent's, in every state of a rally."""
    to, back, lose = own.to[:N_RALLY], other.to[:N_RALLY], other.lose[:N_RALLY]
    start = own.win[:N_RALLY] + to @ lose
    mine = np.asarray(np.linalg.solve(np.eye(N_RALLY) - to @ back, start), dtype=np.float64)
    return mine, lose + back @ mine


def _back(own: Rally, other: Rally, mine: Floats, theirs: Floats) -> tuple[Floats, Floats]:
    """The same one stroke earlier."""
    before = own.win[:N_RALLY] + own.to[:N_RALLY] @ theirs
    return before, other.lose[:N_RALLY] + other.to[:N_RALLY] @ mine


def _returns(o: Opposition, mix: Floats, own: Rally, lean: tuple[int, int] | None) -> list[Rally]:
    if lean is None:
        return [own, own, own]
    return [own, rally_of(mix, o.own_right), rally_of(mix, o.own_wrong)]


def _on_serve(o: Opposition, serves: Floats, returned: Floats, ready: Floats) -> float:
    expected = expecting_serves(serves, o.adapts)
    total = 0.0
    for court in range(2):
        usual = _on_receiver(o, returned, court)
        value = usual + expected[court] * (_on_receiver(o, ready, court) - usual)
        total += 0.5 * _two_serves(serves[:, court], o.own_in, _past(o.own_aces, value, 1.0), 0.0)
    return total


def _on_return(o: Opposition, values: list[Floats], lean: tuple[int, int] | None) -> float:
    total = 0.0
    for court in range(2):
        states = _serve_states(court, o.own_left)
        which = [0 if lean is None else 1 if lean[court] == spot else 2 for spot in range(3)]
        value = np.stack([values[w][states[:, spot]] for spot, w in enumerate(which)], axis=1)
        total += 0.5 * _two_serves(o.serves[:, court], o.serves_in, _past(o.aces, value, 0.0), 1.0)
    return total


def _past(aces: Floats, value: Floats, won: float) -> Floats:
    """Values of serves by kind and spot with what is won on those that nobody touches."""
    return aces * won + (1.0 - aces) * value


def _two_serves(mix: Floats, serves_in: Floats, value: Floats, double_fault: float) -> float:
    lands = serves_in[:, None] * value
    second = float((mix[1] * (lands + (1.0 - serves_in)[:, None] * double_fault)).sum())
    return float((mix[0] * (lands + (1.0 - serves_in)[:, None] * second)).sum())
