"""What a tactic means on this court: how much more often the user chooses which plays and serves.

Tactics are named by the ids under which advice suggests them; one that is not here is played as no change. `AIM` in a
target or a reach stands for the wing that the tactic is aimed at.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tests.rehearsal.world.habits import Habits, normal
from tests.rehearsal.world.shots import (
    BACKHAND,
    BALL,
    BALLS,
    FOREHAND,
    KINDS,
    PLAY_BALL,
    PLAY_SHOT,
    PLAY_TARGET,
    PLAY_WING,
    RALLY,
    SHOT,
    SPOTS,
    Floats,
    serve_side,
)

Flags = NDArray[np.bool_]
AIM, OTHER_WING = 7, 8
BOTH: Final = (FOREHAND, BACKHAND)
GROUND_BALLS = RALLY[:8]


@dataclass(frozen=True, slots=True)
class Plays:
    """Plays chosen `by` times as often: these shots, to this side, off this wing, from these balls (None: any)."""

    by: float
    shots: tuple[str, ...] | None = None
    to: int | None = None
    off: int | None = None
    balls: tuple[str, ...] = GROUND_BALLS


@dataclass(frozen=True, slots=True)
class Serves:
    """Serves chosen `by` times as often: this serve (0 first, 1 second), kinds, spots, and the side reached."""

    by: float
    number: int | None = None
    kinds: tuple[str, ...] | None = None
    spots: tuple[str, ...] | None = None
    reach: int | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """One tactic: what is chosen more often, the wings that it may aim at, and whether serves are read."""

    plays: tuple[Plays, ...] = ()
    serves: tuple[Serves, ...] = ()
    aims: tuple[int, ...] = (BACKHAND,)
    reads: bool = False


@dataclass(frozen=True, slots=True)
class Chosen:
    """A tactic as it is played: its id and the wing aimed at."""

    tactic: str
    aim: int = BACKHAND


FIRSTS = tuple(b for b in BALLS if b.startswith(("first", "spin")))
SECONDS = tuple(b for b in BALLS if b.startswith(("second", "kick")))
KICKS = tuple(b for b in BALLS if b.startswith("kick"))
SPIN_SHOTS = ("high", "low", "slow", "drop")
SAFE = ("neutral", "high", "body")

CHANGES: Final[dict[str, Change]] = {
    # serve
    "serve-to-hidden-wing": Change(serves=(Serves(2.5, reach=AIM),), aims=BOTH),
    "serve-away-from-lean": Change(serves=(Serves(2.0, reach=OTHER_WING),), aims=BOTH),
    "body-serve-to-cramp": Change(serves=(Serves(2.5, spots=("body",)),)),
    "wide-serve-open-court": Change(serves=(Serves(2.2, spots=("wide",), reach=AIM),), aims=BOTH),
    "t-serve-shortens-angle": Change(serves=(Serves(2.0, spots=("T",)),)),
    "short-side-serve-to-deep-returner": Change(serves=(Serves(2.2, spots=("wide",)),)),
    "first-serve-percentage-before-pace": Change(serves=(Serves(4.0, 0, ("spin",)),)),
    "first-serve-as-weapon": Change(serves=(Serves(2.5, 0, ("first",)),)),
    "kick-second-serve-to-high-ball-weakness": Change(
        serves=(Serves(4.0, 1, ("kick",)), Serves(2.0, 1, reach=BACKHAND))),
    "second-serve-deep-and-varied-under-attack": Change(serves=(Serves(2.5, 1, ("kick",)),)),
    "surprise-serve-to-strong-wing": Change(serves=(Serves(1.4, reach=FOREHAND),)),
    "serve-and-rally-to-weaker-forehand": Change(
        (Plays(2.0, to=FOREHAND),), (Serves(2.0, reach=FOREHAND),), (FOREHAND,)),
    "left-hander-use-ad-court": Change(serves=(Serves(1.6, spots=("wide",), reach=BACKHAND),)),
    # return
    "return-position-that-gets-ball-back": Change((Plays(2.5, ("block",), balls=FIRSTS),)),
    "block-return-deep-middle": Change((Plays(3.0, ("block",), balls=FIRSTS),)),
    "attack-second-serve": Change((Plays(3.0, ("fast",), balls=SECONDS),)),
    "run-round-second-serve": Change((Plays(3.0, off=FOREHAND, balls=SECONDS), Plays(1.5, ("fast",), balls=SECONDS))),
    "step-in-on-kick-serve": Change((Plays(2.0, ("neutral", "fast"), balls=KICKS),)),
    "make-a-nervous-second-server-serve": Change((Plays(2.0, ("neutral", "high"), balls=SECONDS),)),
    "make-server-play-under-pressure": Change((Plays(1.8, ("block", "neutral"), balls=FIRSTS + SECONDS),)),
    "no-free-points-on-serve": Change((Plays(1.8, ("block", "neutral"), balls=FIRSTS + SECONDS),)),
    "read-serve-habits": Change(reads=True),
    # rally
    "work-weaker-wing": Change((Plays(2.2, to=AIM),), aims=BOTH),
    "high-ball-to-high-ball-weakness": Change((Plays(6.0, ("high",), BACKHAND),)),
    "low-slice-to-low-ball-weakness": Change((Plays(6.0, ("low",), AIM),), aims=BOTH),
    "pace-against-slow-preparation": Change((Plays(5.0, ("fast",), AIM),), aims=BOTH),
    "take-pace-off-a-counterpuncher": Change((Plays(6.0, ("slow",)),)),
    "deep-ball-through-middle": Change((Plays(5.0, ("body",)),)),
    "vary-against-rhythm-player": Change((Plays(2.5, SPIN_SHOTS),)),
    "win-with-consistency": Change((Plays(2.0, SAFE), Plays(0.5, ("fast", "wide", "drop")))),
    "build-to-short-ball": Change((Plays(1.6, SAFE), Plays(1.8, ("fast", "wide", "approach"), balls=("short",)))),
    "make-opponent-hit-one-more": Change((Plays(1.8, SAFE), Plays(0.6, ("fast", "wide", "drop")))),
    "drop-shot-against-deep-position": Change((Plays(8.0, ("drop",), balls=("neutral", "slow", "short")),)),
    "bring-a-retriever-off-the-baseline": Change((Plays(6.0, ("drop",)), Plays(1.5, ("wide",)))),
    "bring-an-uncomfortable-player-forward": Change((Plays(7.0, ("drop",)), Plays(1.5, ("low",)))),
    "short-angle-off-a-wide-ball": Change((Plays(3.0, ("wide",), AIM),), aims=BOTH),
    "open-weak-side-through-strong-side": Change(
        (Plays(1.8, ("wide", "fast"), OTHER_WING), Plays(1.4, to=AIM)), aims=BOTH),
    "cross-court-home": Change((Plays(1.3, to=BACKHAND, off=BACKHAND), Plays(1.3, to=FOREHAND, off=FOREHAND))),
    "play-to-a-slice-only-backhand": Change(
        (Plays(2.2, to=BACKHAND), Plays(2.0, ("approach",), BACKHAND, balls=("short",)))),
    "forehand-cross-to-left-handers-backhand": Change((Plays(2.2, to=BACKHAND, off=FOREHAND),)),
    "stand-to-hit-forehands": Change((Plays(2.5, off=FOREHAND),)),
    "answer-heavy-topspin": Change((Plays(2.0, ("low", "neutral"), balls=("high",)),)),
    # net
    "come-in-behind-short-ball": Change((Plays(3.0, ("approach",), balls=("short",)),)),
    "approach-to-weak-passing-wing": Change((Plays(4.0, ("approach",), AIM, balls=("short",)),), aims=BOTH),
    "net-habit-when-it-pays": Change((Plays(2.5, ("approach",), balls=("short",)),)),
    "come-in-on-a-stressed-slice": Change((Plays(2.5, ("approach",), BACKHAND, balls=("short",)),)),
    "keep-net-rusher-back": Change((Plays(1.6, ("neutral", "high", "fast")),)),
    "lob-early-and-often-enough": Change((Plays(3.5, ("lob",), balls=("pass",)),)),
    "first-ball-low-second-ball-past": Change((Plays(2.5, ("low",), balls=("pass",)),)),
    "pass-by-percentage-and-cover": Change((Plays(1.8, ("neutral",), balls=("pass",)),)),
}  # fmt: skip


@lru_cache(maxsize=1)
def options() -> tuple[Chosen, ...]:
    """Every tactic that can be played here, aimed at every wing that it may be aimed at."""
    return tuple(Chosen(name, aim) for name, change in CHANGES.items() for aim in change.aims)


def played(plan: Habits, chosen: Sequence[Chosen], opponent_left: bool) -> Habits:
    """The plan with these tactics on top of it."""
    mix, serves = plan.mix, plan.serves
    for one in chosen:
        change = CHANGES.get(one.tactic, Change())
        for plays in change.plays:
            mix = np.where(marks(plays, one.aim), mix * plays.by, mix)
        for wish in change.serves:
            serves = serves * _weights(wish, one.aim, opponent_left)
    return Habits(normal(mix), np.asarray(serves / serves.sum(axis=(2, 3), keepdims=True)))


def reads_serves(chosen: Sequence[Chosen]) -> bool:
    """Whether one of these tactics leans to the server's favourite spot."""
    return any(CHANGES.get(one.tactic, Change()).reads for one in chosen)


@lru_cache(maxsize=512)
def marks(plays: Plays, aim: int) -> Flags:
    """Which of all plays these are."""
    marked = np.isin(PLAY_BALL, [BALL[b] for b in plays.balls])
    if plays.shots is not None:
        marked &= np.isin(PLAY_SHOT, [SHOT[s] for s in plays.shots])
    if plays.to is not None:
        marked &= _side(plays.to, aim) == PLAY_TARGET
    if plays.off is not None:
        marked &= plays.off == PLAY_WING
    return marked


def _side(wish: int, aim: int) -> int:
    return aim if wish == AIM else 1 - aim if wish == OTHER_WING else wish


def _weights(wish: Serves, aim: int, opponent_left: bool) -> Floats:
    return np.where(serve_marks(wish, aim, opponent_left), wish.by, 1.0)


@lru_cache(maxsize=512)
def serve_marks(wish: Serves, aim: int, opponent_left: bool) -> Flags:
    """Which serves (2 serves, 2 courts, 4 kinds, 3 spots) these are."""
    marked = np.ones((2, 2, 4, 3), dtype=bool)
    if wish.number is not None:
        marked[1 - wish.number] = False
    if wish.kinds is not None:
        marked &= np.isin(KINDS, wish.kinds)[None, None, :, None]
    if wish.spots is not None:
        marked &= np.isin(SPOTS, wish.spots)[None, None, None, :]
    if wish.reach is not None:
        sides = np.array([[serve_side(court, spot, opponent_left) for spot in range(3)] for court in range(2)])
        marked &= (sides == _side(wish.reach, aim))[None, :, None, :]
    return marked
