"""What can be hit from where: the states of a rally, the choices in each, and which state follows.

A state is what a player has to hit: a ball (24 kinds) on a side (forehand, backhand, middle); index ball * 3 + side.
A choice is the wing used, the side aimed at and the shot; index (wing * 3 + target) * 11 + shot.
A play is a state with one of the choices open in it; plays stand in the order of their states, those of state s from
FIRST_PLAY[s] to FIRST_PLAY[s + 1].
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FOREHAND, BACKHAND, MIDDLE = 0, 1, 2
SIDES: Final = ("forehand", "backhand", "middle")
RALLY: Final = ("neutral", "high", "low", "fast", "slow", "wide", "body", "short", "drop", "pass", "volley", "smash")
KINDS: Final = ("first", "spin", "second", "kick")  # a flat first serve, a spun first serve, a plain second, a kick
SPOTS: Final = ("wide", "body", "T")
COURTS: Final = ("deuce", "ad")
BALLS: Final = RALLY + tuple(f"{kind}/{spot}" for kind in KINDS for spot in SPOTS)
SHOTS: Final = ("neutral", "high", "low", "fast", "slow", "wide", "body", "drop", "approach", "lob", "block")

N_BALLS, N_SHOTS = len(BALLS), len(SHOTS)
N_STATES = N_BALLS * 3
BALL: Final = {name: i for i, name in enumerate(BALLS)}
SHOT: Final = {name: i for i, name in enumerate(SHOTS)}

STATE_BALL: Ints = np.repeat(np.arange(N_BALLS), 3)
STATE_SIDE: Ints = np.tile(np.arange(3), N_BALLS)
CHOICE_WING: Ints = np.repeat(np.arange(2), 3 * N_SHOTS)
CHOICE_TARGET: Ints = np.tile(np.repeat(np.arange(3), N_SHOTS), 2)
CHOICE_SHOT: Ints = np.tile(np.arange(N_SHOTS), 6)

GROUND = ("neutral", "high", "low", "fast", "slow", "wide", "body", "drop")
SHOTS_FROM: Final = {
    **dict.fromkeys(("neutral", "high", "slow"), GROUND),
    **dict.fromkeys(("low", "fast", "body"), ("neutral", "high", "low", "fast", "slow", "wide", "body")),
    "wide": ("neutral", "high", "low", "fast", "slow", "wide"),
    "short": (*GROUND, "approach"),
    "drop": ("neutral", "low", "wide", "drop", "lob"),
    "pass": ("neutral", "low", "fast", "lob"),
    "volley": ("neutral", "wide", "drop"),
    "smash": ("neutral", "fast"),
}
RETURNS = ("neutral", "high", "low", "fast", "block", "approach")
CAN_RUN_ROUND = ("neutral", "high", "slow", "short")


def state(ball: str, side: int) -> int:
    """Index of a state."""
    return BALL[ball] * 3 + side


def serve_side(court: int, spot: int, left_handed: bool) -> int:
    """The side of the receiver that a serve reaches: wide in the deuce court is a right-hander's forehand."""
    if SPOTS[spot] == "body":
        return MIDDLE
    outer = (court == 0) == (SPOTS[spot] == "wide")
    return FOREHAND if outer != left_handed else BACKHAND


def _allowed() -> NDArray[np.bool_]:
    shots = np.zeros((N_BALLS, N_SHOTS), dtype=bool)
    for ball, name in enumerate(BALLS):
        for shot in SHOTS_FROM.get(name, RETURNS):
            shots[ball, SHOT[shot]] = True
    allowed = shots[STATE_BALL][:, CHOICE_SHOT]
    side, wing = STATE_SIDE[:, None], CHOICE_WING[None, :]
    round_ball = np.array([name in CAN_RUN_ROUND or name.startswith(("second", "kick")) for name in BALLS])
    reach = (
        (side == MIDDLE) | (side == wing) | ((side == BACKHAND) & (wing == FOREHAND) & round_ball[STATE_BALL][:, None])
    )
    sideless = np.isin(CHOICE_SHOT, [SHOT["body"], SHOT["block"]])  # both go to the middle by what they are
    wants_side = np.isin(CHOICE_SHOT, [SHOT["wide"]])
    aims = (~sideless | (CHOICE_TARGET == MIDDLE)) & (~wants_side | (CHOICE_TARGET != MIDDLE))
    return np.asarray(allowed & reach & aims[None, :])


_STATE_OF, _CHOICE_OF = np.nonzero(_allowed())
PLAY_STATE: Ints = _STATE_OF.astype(np.int64)
PLAY_CHOICE: Ints = _CHOICE_OF.astype(np.int64)
N_PLAYS = len(PLAY_STATE)
PLAY_BALL, PLAY_SIDE = STATE_BALL[PLAY_STATE], STATE_SIDE[PLAY_STATE]
PLAY_WING, PLAY_TARGET, PLAY_SHOT = CHOICE_WING[PLAY_CHOICE], CHOICE_TARGET[PLAY_CHOICE], CHOICE_SHOT[PLAY_CHOICE]
FIRST_PLAY: Ints = np.searchsorted(PLAY_STATE, np.arange(N_STATES + 1))

_BECOMES = {"approach": "pass", "lob": "smash", "block": "slow"}


def _follows(play: int) -> tuple[int, int]:
    """State of the other player after a good ball and after a short one."""
    ball, shot, target = BALLS[PLAY_BALL[play]], SHOTS[PLAY_SHOT[play]], int(PLAY_TARGET[play])
    if ball == "pass":  # the other player stands at the net
        comes = "smash" if shot == "lob" else "volley"
        return state(comes, target), state(comes, MIDDLE)
    if ball in ("volley", "smash", "drop"):  # the hitter is at the net now
        return state("drop" if shot == "drop" else "pass", target), state("pass", MIDDLE)
    good = state(_BECOMES.get(shot, shot), target)
    return good, state("pass", MIDDLE) if shot == "approach" else state("short", target)


_NEXT = np.array([_follows(play) for play in range(N_PLAYS)])
NEXT_GOOD: Ints = _NEXT[:, 0]
NEXT_WEAK: Ints = _NEXT[:, 1]
