"""Who plays: opponents with correlated qualities and habits, and a user who knows their own strokes.

Qualities are log-odds against the usual player; 0 is usual. All spreads are this world's own assumptions.
"""

from dataclasses import dataclass, field

import numpy as np

from tests.rehearsal.world.shots import BALL, BALLS, KINDS, N_BALLS, N_SHOTS, SHOT, SPOTS, Floats
from tests.rehearsal.world.worlds import HOME, World

IN_PLAY = np.array([0.60, 0.68, 0.88, 0.86])  # serves in, by kind
ACES = np.array([-2.3, -3.2, -5.5, -5.5])  # log-odds that a serve that is in is not even touched, by kind
ACES_BY_SPOT = np.array([0.0, -2.0, 0.2])
ACES_BY_POWER = 0.6
RATED = (
    "first_serve_speed", "serve_placement", "second_serve_safety", "second_serve_kick", "forehand_weapon",
    "backhand_solidity", "slice_backhand", "topspin_height", "ball_pace", "depth", "change_direction", "short_angle",
    "drop_shot", "approach", "volley", "overhead", "lob", "passing_shot", "return_block", "return_attack", "speed",
    "stamina", "patience",
)  # fmt: skip
A_RATING = 0.15  # log-odds that one step of an own rating is worth
BITE_OF_RATING = 0.10


@dataclass(frozen=True, slots=True)
class Player:
    """One player as the points see them.

    `handle` (balls, wings): how well each ball is played; `bite` (balls): how hard their own ball is to play;
    `craft` (shots): how surely each shot is hit; `hurt` (wings): winners; `cover` (sides): balls run down;
    `serves_in` by kind, `aces` by kind and spot. `tolerance` counts in long rallies, `rhythm` after a change of ball.
    """

    world: World
    left: bool
    handle: Floats
    bite: Floats
    craft: Floats
    hurt: Floats
    cover: Floats
    serves_in: Floats
    aces: Floats
    depth: float = 0.0
    tolerance: float = 0.0
    rhythm: float = 0.0


@dataclass(frozen=True, slots=True)
class Nature:
    """The hidden numbers that an opponent is made of, each about standard normal; keys are plain words."""

    z: dict[str, float]
    left: bool
    backhand: str
    shade: int | None  # the side guarded on return, None for none
    world: World = HOME

    def __getitem__(self, key: str) -> float:
        return self.z[key]


# each quality: (weight on each shared factor); what is left over is the quality's own
LOADINGS: dict[str, dict[str, float]] = {
    "forehand": {"class": 0.3}, "backhand": {"class": 0.3},
    "high_forehand": {"forehand": 0.4}, "high_backhand": {"backhand": 0.5},
    "low_forehand": {"forehand": 0.3, "touch": 0.4}, "low_backhand": {"backhand": 0.4, "touch": 0.4},
    "pace_forehand": {"forehand": 0.5, "legs": 0.2}, "pace_backhand": {"backhand": 0.5, "legs": 0.2},
    "body_forehand": {"legs": 0.4, "forehand": 0.2}, "body_backhand": {"legs": 0.4, "backhand": 0.2},
    "corner_forehand": {"legs": 0.7, "forehand": 0.2}, "corner_backhand": {"legs": 0.7, "backhand": 0.2},
    "forward": {"legs": 0.6, "touch": 0.2}, "back": {"legs": 0.4},
    "volley_forehand": {"net": 0.7, "touch": 0.2}, "volley_backhand": {"net": 0.7, "touch": 0.2},
    "overhead": {"net": 0.5, "back": 0.4},
    "pass_forehand": {"forehand": 0.5}, "pass_backhand": {"backhand": 0.5},
    "return_forehand": {"forehand": 0.5}, "return_backhand": {"backhand": 0.5},
    "own_pace": {"aggression": 0.3}, "hurt_forehand": {"forehand": 0.4, "aggression": 0.5},
    "hurt_backhand": {"backhand": 0.4, "aggression": 0.4},
    "power": {"class": 0.3, "aggression": 0.2}, "second": {"class": 0.4}, "kick": {}, "favourite": {},
    "tolerance": {"aggression": -0.5, "legs": 0.2}, "rhythm": {"touch": 0.3}, "adapts": {"class": 0.2},
    "nerves": {}, "stamina": {"legs": 0.4}, "stand": {"aggression": -0.3}, "attack": {"aggression": 0.5},
    "block": {"aggression": -0.4, "touch": 0.3}, "run_round": {"forehand": 0.35, "backhand": -0.55},
    "middle": {"forehand": 0.4, "backhand": -0.5}, "topspin": {}, "comes_in": {"net": 0.6, "aggression": 0.2},
    "lobs": {"touch": 0.3}, "drops": {"touch": 0.5},
}  # fmt: skip
FACTORS = ("class", "legs", "touch", "net", "aggression")
SPREAD = {"wing": 0.26, "ball": 0.40, "move": 0.38, "net": 0.42, "return": 0.30, "hurt": 0.35, "power": 0.35}


def draw_nature(rng: np.random.Generator, world: World = HOME) -> Nature:
    """Draw the hidden numbers of one opponent."""
    z = {name: float(rng.standard_normal()) for name in FACTORS}
    for name, weights in LOADINGS.items():
        of_its_own = float(rng.standard_normal())
        left_over = max(0.1, 1.0 - sum(w * w for w in weights.values())) ** 0.5
        z[name] = sum(w * z[f] for f, w in weights.items()) + left_over * of_its_own if world.shared else of_its_own
    z = {name: world.spread * number for name, number in z.items()}
    kind = rng.random()
    backhand = "slice" if kind < 0.08 else "one-handed" if kind < 0.28 else "two-handed"
    guards = rng.random()
    gap = z["forehand"] - z["backhand"]
    shade = 1 if guards < 0.12 + 0.10 * max(0.0, gap) else 0 if guards > 0.95 else None
    return Nature(z, bool(rng.random() < 0.12), backhand, shade, world)


def opponent(nature: Nature) -> Player:
    """The player that these hidden numbers make."""
    z = nature
    serves_in = _in_play(z.world) + np.array([-0.02, -0.01, 0.0, 0.0]) * z["power"]
    hurt = SPREAD["hurt"] * np.array([z["hurt_forehand"] + 0.4, z["hurt_backhand"] - 0.5])
    hurt[1] -= 0.6 if nature.backhand == "slice" else 0.0
    cover = 0.25 * np.array([z["corner_forehand"], z["corner_backhand"], 0.5 * z["legs"] + 2.0])
    return Player(
        z.world, z.left, _handling(z), _bite(z), np.zeros(N_SHOTS), hurt, cover, serves_in,
        _aces(z.world, ACES_BY_POWER * z["power"]), depth=0.10 * _class(z), tolerance=0.30 * z["tolerance"],
        rhythm=z.world.rhythm * (0.10 - 0.22 * z["rhythm"]),
    )  # fmt: skip


def _class(z: Nature) -> float:
    return z["class"] if z.world.shared else 0.0


def _in_play(world: World) -> Floats:
    return np.asarray(1.0 / (1.0 + (1.0 / IN_PLAY - 1.0) * np.exp(-world.shifts["serves_in"])))


def _aces(world: World, power: float) -> Floats:
    return np.asarray(1.0 / (1.0 + np.exp(-((ACES + world.shifts["aces"])[:, None] + ACES_BY_SPOT + power))))


def _handling(z: Nature) -> Floats:
    of_wing, of_ball = SPREAD["wing"] * z.world.wing, SPREAD["ball"] * z.world.ball
    handle = np.zeros((N_BALLS, 2))
    for wing, name in enumerate(("forehand", "backhand")):
        handle[:, wing] = of_wing * z[name] + (0.08, -0.08)[wing] + 0.10 * _class(z)
        for ball, quality in (("high", "high"), ("low", "low"), ("fast", "pace"), ("body", "body")):
            handle[BALL[ball], wing] += of_ball * z[f"{quality}_{name}"]
        handle[BALL["slow"], wing] += of_ball * z["own_pace"]
        handle[BALL["wide"], wing] += SPREAD["move"] * z[f"corner_{name}"]
        handle[BALL["volley"], wing] += SPREAD["net"] * z[f"volley_{name}"]
        handle[BALL["pass"], wing] += SPREAD["return"] * z[f"pass_{name}"]
        _add_returns(handle, wing, name, z)
    handle[BALL["high"], 1] -= 0.15
    handle[BALL["short"]] += SPREAD["move"] * z["forward"] / 2
    handle[BALL["drop"]] += SPREAD["move"] * 1.3 * z["forward"]
    handle[BALL["smash"]] += SPREAD["net"] * (0.8 * z["overhead"] + 0.4 * z["back"])
    if z.backhand == "slice":
        handle[BALL["pass"], 1] -= 0.35
        handle[BALL["low"], 1] += 0.25
    return handle


def _bite(z: Nature) -> Floats:
    bite = np.zeros(N_BALLS)
    for ball in ("fast", "wide"):
        bite[BALL[ball]] = 0.12 * z["aggression"]
    bite[BALL["high"]] = 0.15 * z["topspin"]
    power = {
        "first": z["power"],
        "spin": z["power"] * 0.5,
        "second": z["second"],
        "kick": 0.5 * z["kick"] + 0.3 * z["second"],
    }
    for kind in KINDS:
        for spot in SPOTS:
            bite[BALL[f"{kind}/{spot}"]] = SPREAD["power"] * power[kind]
    return bite


def _add_returns(handle: Floats, wing: int, name: str, z: Nature) -> None:
    for kind in KINDS:
        for spot in SPOTS:
            ball = BALL[f"{kind}/{spot}"]
            handle[ball, wing] += SPREAD["return"] * z[f"return_{name}"]
            handle[ball, wing] += {"first": 0.12, "spin": 0.08, "second": 0.0, "kick": 0.05}[kind] * z["stand"]
            if kind == "kick" and wing == 1:
                handle[ball, wing] += SPREAD["ball"] * z.world.ball * z["high_backhand"] - 0.1
            if kind == "first":
                handle[ball, wing] += 0.15 * z[f"pace_{name}"]
            if spot == "body":
                handle[ball, wing] += SPREAD["ball"] * z.world.ball * z[f"body_{name}"]
            if spot == "wide":
                handle[ball, wing] += 0.25 * z[f"corner_{name}"] - 0.12 * z["stand"]
            if z.shade is not None and spot != "body":
                handle[ball, wing] += 0.30 if wing == z.shade else -0.35


@dataclass(frozen=True, slots=True)
class User:
    """The player who asks for advice: own ratings 0 to 4 by name, and what they make of them."""

    ratings: dict[str, int] = field(default_factory=dict)
    left: bool = False


def draw_user(rng: np.random.Generator) -> User:
    """Draw a user whose strokes are mostly middling."""
    general = rng.standard_normal() * 0.3
    ratings = {name: int(np.clip(round(2.0 + general + 0.9 * rng.standard_normal()), 0, 4)) for name in RATED}
    return User(ratings, bool(rng.random() < 0.12))


def own_player(user: User, world: World = HOME) -> Player:
    """The player that these ratings make."""
    r = {name: float(value - 2) for name, value in user.ratings.items()}
    handle = np.zeros((N_BALLS, 2))
    handle[:, 0] = A_RATING / 2 * r["forehand_weapon"] + 0.05
    handle[:, 1] = A_RATING * r["backhand_solidity"] - 0.05
    for ball, name in (
        ("volley", "volley"),
        ("smash", "overhead"),
        ("pass", "passing_shot"),
        ("wide", "speed"),
        ("drop", "speed"),
    ):
        handle[BALL[ball]] += A_RATING * r[name]
    for spot in SPOTS:
        handle[BALL[f"second/{spot}"]] += A_RATING / 2 * r["return_attack"]
    craft = np.zeros(N_SHOTS)
    for shot, name in _CRAFTS:
        craft[SHOT[shot]] = A_RATING * r[name]
    bite = np.zeros(N_BALLS)
    for ball, name in (
        ("high", "topspin_height"),
        ("low", "slice_backhand"),
        ("fast", "ball_pace"),
        ("drop", "drop_shot"),
    ):
        bite[BALL[ball]] = BITE_OF_RATING * r[name]
    for spot in SPOTS:
        bite[BALL[f"first/{spot}"]] = A_RATING * r["first_serve_speed"]
        bite[BALL[f"kick/{spot}"]] = A_RATING * r["second_serve_kick"]
    for ball_name in BALLS[12:]:
        bite[BALL[ball_name]] += BITE_OF_RATING * r["serve_placement"] * (not ball_name.endswith("body"))
    serves_in = _in_play(world) + np.array([0.01, 0.01, 0.02, 0.02]) * r["second_serve_safety"]
    hurt = np.array([A_RATING * r["forehand_weapon"] + 0.14, -0.17])
    cover = 0.25 * np.array([0.7 * r["speed"], 0.7 * r["speed"], 2.0])
    return Player(
        world, user.left, handle, bite, craft, hurt, cover, serves_in, _aces(world, A_RATING * r["first_serve_speed"]),
        depth=A_RATING / 2 * r["depth"], tolerance=0.12 * r["patience"],
    )  # fmt: skip


_CRAFTS = (
    ("high", "topspin_height"), ("low", "slice_backhand"), ("fast", "ball_pace"), ("wide", "short_angle"),
    ("drop", "drop_shot"), ("approach", "approach"), ("lob", "lob"), ("block", "return_block"),
)  # fmt: skip
