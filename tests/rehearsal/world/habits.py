"""What players choose to hit: an opponent by habit, the user by a fixed sensible plan.

A mix is (N_PLAYS,), summing to 1 over the plays of each state. A serve mix is (2 serves, 2 courts, 4 kinds,
3 spots), each court of each serve summing to 1.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tests.rehearsal.world.qualities import Nature
from tests.rehearsal.world.shots import (
    BACKHAND,
    BALL,
    BALLS,
    FOREHAND,
    MIDDLE,
    N_BALLS,
    N_SHOTS,
    N_STATES,
    PLAY_BALL,
    PLAY_SHOT,
    PLAY_SIDE,
    PLAY_STATE,
    PLAY_TARGET,
    PLAY_WING,
    SHOT,
    Floats,
    serve_side,
)

USUAL = {"neutral": 0.58, "high": 0.09, "low": 0.08, "fast": 0.09, "slow": 0.03, "wide": 0.09, "body": 0.04,
         "drop": 0.01, "approach": 0.0, "lob": 0.0, "block": 0.0}  # fmt: skip
PLANNED_SPOTS = {"wide": 0.38, "body": 0.18, "T": 0.44}


@dataclass(frozen=True, slots=True)
class Habits:
    """How a player plays: rally and return choices, serve choices."""

    mix: Floats
    serves: Floats


@dataclass(frozen=True, slots=True)
class _Wish:
    """Shots wished for, by ball where they differ, how often the forehand is taken, and where the ball is sent."""

    shots: Mapping[str, float]
    by_ball: Mapping[str, Mapping[str, float]]
    middle_forehand: float
    run_round: float
    aims: tuple[float, float, float]  # across, line, middle
    to_backhand: float = 1.0


def opponent_habits(nature: Nature, same_handed: bool, user_left: bool) -> Habits:
    """The habits that an opponent's hidden numbers make."""
    z, moved = nature, nature.world.shifts
    shots = {shot: weight * float(np.exp(moved["shots"][SHOT[shot]])) for shot, weight in USUAL.items()}
    shots["fast"] *= float(np.exp(0.5 * z["aggression"]))
    shots["wide"] *= float(np.exp(0.3 * z["aggression"]))
    shots["high"] *= float(np.exp(0.6 * z["topspin"]))
    shots["low"] *= float(np.exp(0.4 * z["touch"]))
    shots["drop"] = 0.015 * float(np.exp(0.9 * z["drops"] + moved["drops"]))
    attack, block = (
        _logistic(-0.9 + 0.7 * z["attack"] + moved["attack"]),
        _logistic(-0.7 + 0.8 * z["block"] + moved["block"]),
    )
    come_in = _logistic(-0.6 + 0.9 * z["comes_in"] + moved["comes_in"])
    lobs = _logistic(-1.2 + 0.6 * z["lobs"] + moved["lobs"])
    by_ball = _by_ball(shots, come_in, lobs, attack, block)
    middle = _logistic(0.85 + 0.5 * z["middle"] + moved["middle"])
    round_ = _logistic(-1.35 + 0.8 * z["run_round"] + moved["run_round"])
    mix = _mix(_Wish(shots, by_ball, middle, round_, _aims(moved["aims"])), same_handed)
    if nature.backhand == "slice":
        slices = (PLAY_WING == 1) & (SHOT["low"] == PLAY_SHOT)
        drives = (PLAY_WING == 1) & np.isin(PLAY_SHOT, [SHOT["neutral"], SHOT["high"], SHOT["fast"]])
        mix = normal(mix * np.where(slices, 12.0, np.where(drives, 0.25, 1.0)))
    return Habits(mix, _opponent_serves(nature, user_left))


def _aims(moves: Floats) -> tuple[float, float, float]:
    across, line, middle = (np.array([0.55, 0.25, 0.20]) * np.exp(moves)).tolist()
    total = across + line + middle
    return across / total, line / total, middle / total


def planned(same_handed: bool, opponent_left: bool) -> Habits:
    """The user's fixed sensible plan: depth, across more than line, somewhat more to the backhand, serves mixed."""
    by_ball = _by_ball(USUAL, come_in=0.3, lobs=0.25, attack=0.15, block=0.35)
    mix = _mix(_Wish(USUAL, by_ball, 0.70, 0.15, (0.55, 0.22, 0.23), to_backhand=1.25), same_handed)
    serves = np.zeros((2, 2, 4, 3))
    spots = np.array(list(PLANNED_SPOTS.values()))
    for court in range(2):
        reach = np.array([serve_side(court, spot, opponent_left) for spot in range(3)])
        share = spots * np.where(reach == BACKHAND, 1.25, 1.0)
        share /= share.sum()
        serves[0, court] = np.outer((0.75, 0.25, 0.0, 0.0), share)
        serves[1, court] = np.outer((0.0, 0.0, 0.7, 0.3), share)
    return Habits(mix, serves)


def _by_ball(
    shots: Mapping[str, float], come_in: float, lobs: float, attack: float, block: float
) -> dict[str, Mapping[str, float]]:
    first = {
        "neutral": (1 - block) * 0.8,
        "high": 0.05,
        "low": 0.10,
        "fast": 0.05 * (1 - block),
        "block": block,
        "approach": 0.01,
    }
    second = {"neutral": (1 - attack) * (1 - 0.5 * block), "high": 0.06, "low": 0.10, "fast": attack,
              "block": 0.5 * block, "approach": 0.02}  # fmt: skip
    short = {**shots, "fast": shots["fast"] * 3, "wide": shots["wide"] * 2.5, "drop": shots["drop"] * 3}
    total = sum(short.values())
    short["approach"] = total * come_in / (1.0 - come_in)
    passing = {"neutral": 0.45 * (1 - lobs), "low": 0.25 * (1 - lobs), "fast": 0.30 * (1 - lobs), "lob": lobs}
    special: dict[str, Mapping[str, float]] = {
        "short": short, "pass": passing, "volley": {"neutral": 0.55, "wide": 0.37, "drop": 0.08},
        "smash": {"neutral": 0.4, "fast": 0.6},
        "drop": {"neutral": 0.35, "low": 0.2, "wide": 0.25, "drop": 0.15, "lob": 0.05},
    }  # fmt: skip
    for ball in BALLS[12:]:
        special[ball] = first if ball.startswith(("first", "spin")) else second
    return special


def _mix(wish: _Wish, same_handed: bool) -> Floats:
    shots = np.zeros((N_BALLS, N_SHOTS))
    for ball, name in enumerate(BALLS):
        for shot, weight in wish.by_ball.get(name, wish.shots).items():
            shots[ball, SHOT[shot]] = weight
    forehand = np.where(PLAY_SIDE == MIDDLE, wish.middle_forehand, np.where(PLAY_SIDE == BACKHAND, wish.run_round, 1.0))
    forehand = np.where((PLAY_SIDE == MIDDLE) & np.isin(PLAY_BALL, [BALL["volley"], BALL["smash"]]), 0.5, forehand)
    taken = np.where(PLAY_WING == FOREHAND, forehand, 1.0 - forehand)
    across = (PLAY_WING == PLAY_TARGET) == same_handed
    aims = np.where(PLAY_TARGET == MIDDLE, wish.aims[2], np.where(across, wish.aims[0], wish.aims[1]))
    aims = aims * np.where(PLAY_TARGET == BACKHAND, wish.to_backhand, 1.0)
    wing_of = PLAY_STATE * 2 + PLAY_WING
    shot_of = wing_of * N_SHOTS + PLAY_SHOT
    aims = aims / np.bincount(shot_of, aims, minlength=N_STATES * 2 * N_SHOTS)[shot_of]
    hit = aims * shots[PLAY_BALL, PLAY_SHOT]  # each shot keeps its share whatever aims are open to it
    hit = hit / np.bincount(wing_of, hit, minlength=N_STATES * 2)[wing_of]  # and each wing its own
    return normal(taken * hit)


def normal(weights: Floats) -> Floats:
    """Weights of plays scaled to sum to 1 in each state."""
    return np.asarray(weights / np.bincount(PLAY_STATE, weights, minlength=N_STATES)[PLAY_STATE])


def _opponent_serves(z: Nature, user_left: bool) -> Floats:
    serves = np.zeros((2, 2, 4, 3))
    moved = z.world.shifts
    leaning = float(np.exp(0.6 * abs(z["favourite"])))
    kick = _logistic(-1.2 + 1.1 * z["kick"] + moved["kick"])
    for court in range(2):
        favourite = serve_side(court, 0, user_left) if z["favourite"] > 0 else court
        share = np.array([0.38, 0.20, 0.42]) * np.exp(moved["spots"])
        share[0 if favourite == BACKHAND else 2] *= leaning
        share /= share.sum()
        second = share * np.array([0.9, 1.6, 0.9])
        serves[0, court] = np.outer((0.8, 0.2, 0.0, 0.0), share)
        serves[1, court] = np.outer((0.0, 0.0, 1.0 - kick, kick), second / second.sum())
    return serves


def _logistic(x: float | Floats) -> float:
    return float(1.0 / (1.0 + np.exp(-x)))
