"""What the models cost, as ratios within one run: `python tests/benchmarks/models.py`. Ends with status 1 below a bar.

Win chances of a thousand pairs in one call against a plain recursion for each (at least 100 times faster, and equal);
ten thousand balls flown together against scipy's integrator ball by ball (at least 100 times faster; tests/published
holds the figures to a millimetre); a shot margin and a serve mix over HTTP in posts of the demo (below 50, and 10).
"""

import sys
from collections.abc import Callable, Iterator
from functools import cache, partial
from statistics import median
from time import perf_counter

import numpy as np
from scipy.integrate import solve_ivp

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.court.flight import GRAVITY, Ball, Launch, Surface, bounced, fly, launched
from tacticapi.rulebook.load import load
from tacticapi.scoring.formats import Format
from tacticapi.scoring.match import MatchModel
from tacticapi.scoring.score import State
from tacticapi.seeds import demo_situation

PAIRS, SHOTS, SINGLE, SERVES = 1000, 10_000, 60, 30
FASTER, AGREE = 100.0, 1e-12
BALL, DENSITY, SURFACE = Ball(0.0577, 0.0665, 0.507, 0.55), 1.21, Surface(0.63, 0.81)
COURT = {
    "spots": {"wide": {"won": 8, "of": 11}, "body": {"won": 3, "of": 7}, "T": {"won": 6, "of": 10}},
    "sequence": ["wide", "T", "body"] * (SERVES // 3),
}
QUESTIONS: dict[str, tuple[dict[str, object], float]] = {  # and the most that an answer may cost, in posts of the demo
    "shot-margin": ({"contact": {"x": 3.5, "y": -12.5}, "target": {"x": -2.6, "y": 9.9}}, 50.0),
    "serve-mix": ({"courts": {"deuce": COURT, "ad": COURT}, "seed": 1}, 10.0),
}
SCORES = (
    ((), (0, 0), (0, 0), "own"),
    (((6, 4),), (2, 3), (1, 2), "opponent"),
    (((6, 4), (4, 6)), (6, 6), (5, 2), "own"),
)


def seconds(task: Callable[[], object], turns: int) -> float:
    """Return the median time of a task."""
    times = []
    for _ in range(turns):
        start = perf_counter()
        task()
        times.append(perf_counter() - start)
    return median(times)


def plain_chance(state: State, serve: float, ret: float) -> float:
    """Return own's chance of a best of three with tie-break sets, by memoised recursion."""

    @cache
    def game(p: float, own: int, opponent: int) -> float:
        if max(own, opponent) >= 4 and abs(own - opponent) >= 2:
            return float(own > opponent)
        if own == opponent >= 3:
            return p * p / (p * p + (1 - p) * (1 - p))
        return p * game(p, own + 1, opponent) + (1 - p) * game(p, own, opponent + 1)

    @cache
    def tie_break(own: int, opponent: int, own_first: bool) -> float:
        if max(own, opponent) >= 7 and abs(own - opponent) >= 2:
            return float(own > opponent)
        if own == opponent >= 6:
            return serve * ret / (serve * ret + (1 - serve) * (1 - ret))
        p = serve if (((own + opponent + 1) // 2) % 2 == 0) == own_first else ret
        return p * tie_break(own + 1, opponent, own_first) + (1 - p) * tie_break(own, opponent + 1, own_first)

    @cache
    def one_set(own: int, opponent: int, own_serves: bool) -> float:
        if (max(own, opponent) >= 6 and abs(own - opponent) >= 2) or 7 in (own, opponent):
            return float(own > opponent)
        if own == opponent == 6:
            return tie_break(0, 0, own_serves)
        p = game(serve if own_serves else ret, 0, 0)
        return p * one_set(own + 1, opponent, not own_serves) + (1 - p) * one_set(own, opponent + 1, not own_serves)

    @cache
    def match(own: int, opponent: int) -> float:
        if 2 in (own, opponent):
            return float(own > opponent)
        p = one_set(0, 0, True)
        return p * match(own + 1, opponent) + (1 - p) * match(own, opponent + 1)

    (own, opponent), own_serves = state.sets_won, state.server == "own"
    if state.in_tie_break:
        this_set = tie_break(*state.points, state.first_server_of_game == "own")
    else:
        won = game(serve if own_serves else ret, *state.points)
        left = [one_set(state.games[0] + w, state.games[1] + 1 - w, not own_serves) for w in (1, 0)]
        this_set = won * left[0] + (1 - won) * left[1]
    return this_set * match(own + 1, opponent) + (1 - this_set) * match(own, opponent + 1)


def win_chances() -> Iterator[bool]:
    dice = np.random.default_rng(2024)
    serve, ret = dice.uniform(0.45, 0.8, PAIRS), dice.uniform(0.2, 0.55, PAIRS)
    for score in SCORES:
        state = State(Format(), *score)  # type: ignore[arg-type]
        start = perf_counter()
        plain = [plain_chance(state, *pair) for pair in zip(serve.tolist(), ret.tolist(), strict=True)]
        slow = perf_counter() - start
        model = partial(MatchModel, Format(), serve, ret)
        fast = seconds(lambda model=model, state=state: model().at(state), 20)  # type: ignore[misc]
        apart = float(np.abs(model().at(state).match.now - plain).max())
        print(f"{PAIRS} win chances at {score}: {slow / fast:.0f} times faster, at most {apart:.1e} apart")
        yield slow / fast >= FASTER and apart <= AGREE


def alone(launch: Launch, ball: int) -> None:
    """Fly one ball to the ground by DOP853 at a tolerance of 1e-9."""
    factor, spin = BALL.air_factor(DENSITY), launch.spin[:, ball]

    def slope(_: float, state: np.ndarray) -> np.ndarray:
        v = state[3:]
        speed, across = np.sqrt(v @ v), np.cross(spin, v)
        surface = BALL.radius_m * np.sqrt(across @ across) / speed
        pull = factor * speed * (BALL.radius_m / (2 * surface + speed) * across - BALL.drag * v)
        pull[2] -= GRAVITY
        return np.concatenate([v, pull])

    def ground(_: float, state: np.ndarray) -> float:
        return float(state[2] - BALL.radius_m)

    ground.terminal, ground.direction = True, -1  # type: ignore[attr-defined]
    start = np.concatenate([launch.position[:, ball], launch.velocity[:, ball]])
    solve_ivp(slope, (0, 12), start, method="DOP853", rtol=1e-9, atol=1e-9, events=[ground])


def flights() -> Iterator[bool]:
    """Compare strokes from a soft ball to a serve, with every spin, flown together and alone."""
    dice = np.random.default_rng(4)
    speed, up, way = (dice.uniform(*span, SHOTS) for span in ((10, 60), (-5, 40), (-20, 20)))
    top, side = dice.uniform(-3000, 4000, SHOTS), dice.uniform(-2000, 2000, SHOTS)
    launch = launched((2.0, -11.885, 1.0), speed, up, way, topspin=top, sidespin=side)
    together = seconds(lambda: bounced(fly(launch, BALL, DENSITY), SURFACE, BALL), 5)
    one = seconds(lambda: [alone(launch, ball) for ball in range(SINGLE)], 3) / SINGLE
    print(f"{SHOTS:,} balls over the net and off the ground: {one * SHOTS / together:.0f} times faster")
    yield one * SHOTS / together >= FASTER


def answers() -> Iterator[bool]:
    """Compare calculations with the advice of the demo, turn about."""
    client = create_app({"ADVISER": Adviser(load())}).test_client()

    def post(address: str, body: object) -> None:
        assert client.post(f"/v1/{address}", json=body).status_code == 200

    advice = partial(post, "suggestions", demo_situation("change-of-ends"))
    for name, (body, most) in QUESTIONS.items():
        question = partial(post, f"calculations/{name}", body)
        advice(), question()
        pairs = [(seconds(advice, 5), seconds(question, 1)) for _ in range(5)]
        ratio = median(asked / advised for advised, asked in pairs)
        print(f"{name}: {ratio:.1f} posts of the demo (bar {most:.0f})")
        yield ratio < most


if __name__ == "__main__":
    sys.exit(not all([*win_chances(), *flights(), *answers()]))
