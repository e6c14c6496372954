"""How quickly balls fly, and what an answer about a shot costs against advice: `python tests/benchmarks/court.py`.

In one run: 10,000 shots flown in one call, net and bounce included, against scipy's adaptive integrator shot by shot
(at least 100 times faster, every figure within a millimetre); and a shot margin of 20,000 balls over HTTP against the
advice of the demo over HTTP (it must cost less than 50 of them). Ends with status 1 where a bar is missed.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from statistics import median
from time import perf_counter

import numpy as np
from flask.testing import FlaskClient
from scipy.integrate import solve_ivp

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.court.flight import GRAVITY, Ball, Flight, Launch, Surface, bounced, fly, launched
from tacticapi.rulebook.load import load
from tacticapi.seeds import demo_situation

SHOTS, SINGLE = 10_000, 60
FASTER, MILLIMETRE, POSTS = 100.0, 1e-3, 50.0
BALL, DENSITY, SURFACE = Ball(0.0577, 0.0665, 0.507, 0.55), 1.21, Surface(0.63, 0.81)
MARGIN = {"contact": {"x": 3.5, "y": -12.5}, "target": {"x": -2.6, "y": 9.9}}


def shots() -> Launch:
    """Strokes from a soft ball to a serve, with every spin."""
    dice = np.random.default_rng(4)
    speed, up, way = dice.uniform(10, 60, SHOTS), dice.uniform(-5, 40, SHOTS), dice.uniform(-20, 20, SHOTS)
    top, side = dice.uniform(-3000, 4000, SHOTS), dice.uniform(-2000, 2000, SHOTS)
    return launched((2.0, -11.885, 1.0), speed, up, way, topspin=top, sidespin=side)


def together(launch: Launch) -> tuple[Flight, Launch]:
    """All of them at once: over the net, to the ground, and off it."""
    flight = fly(launch, BALL, DENSITY)
    return flight, bounced(flight, SURFACE, BALL)


def alone(launch: Launch, ball: int) -> tuple[np.ndarray, np.ndarray | None]:
    """One of them by DOP853 at a tolerance of 1e-9: the landing, and where it passes the net."""
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

    def net(_: float, state: np.ndarray) -> float:
        return float(state[1])

    ground.terminal, ground.direction = True, -1  # type: ignore[attr-defined]
    start = np.concatenate([launch.position[:, ball], launch.velocity[:, ball]])
    found = solve_ivp(slope, (0, 12), start, method="DOP853", rtol=1e-9, atol=1e-9, events=[ground, net])
    return found.y_events[0][0][:3], found.y_events[1][0][:3] if len(found.y_events[1]) else None


def seconds(task: Callable[[], object], turns: int) -> float:
    """Median time of a task."""
    times = []
    for _ in range(turns):
        start = perf_counter()
        task()
        times.append(perf_counter() - start)
    return median(times)


def flying() -> bool:
    """Print how much faster balls fly together, and how far off they are; whether both bars are met."""
    launch = shots()
    flight, _ = together(launch)
    worst = 0.0
    for ball in range(SINGLE):
        landing, net = alone(launch, ball)
        worst = max(worst, float(np.abs(flight.landing[:, ball] - landing).max()))
        if net is not None:
            worst = max(worst, float(np.abs(flight.crossing[:, ball] - net).max()))
    all_of_them = seconds(lambda: together(launch), 5)
    one = seconds(lambda: [alone(launch, ball) for ball in range(SINGLE)], 3) / SINGLE
    faster = one * SHOTS / all_of_them
    print(f"{SHOTS:,} shots in one call: {all_of_them:.2f} s; solve_ivp: {1000 * one:.1f} ms a shot")
    print(f"together {faster:.0f} times faster (bar {FASTER:.0f}); at most {1000 * worst:.3f} mm off (bar 1)")
    return faster >= FASTER and worst <= MILLIMETRE


def answering() -> bool:
    """Print what a shot margin costs in posts of the demo; whether the bar is met."""
    client: FlaskClient = create_app({"ADVISER": Adviser(load())}).test_client()
    situation = demo_situation("change-of-ends")

    def advise() -> None:
        assert client.post("/v1/suggestions", json=situation).status_code == 200

    def margin() -> None:
        assert client.post("/v1/calculations/shot-margin", json=MARGIN).status_code == 200

    advise(), margin()
    pairs = [(seconds(advise, 5), seconds(margin, 1)) for _ in range(5)]
    advice, shot = (median(times) for times in zip(*pairs, strict=True))
    print(f"shot margin: {1000 * shot:.0f} ms; advice of the demo: {1000 * advice:.1f} ms")
    print(f"one margin costs {shot / advice:.1f} posts of the demo (bar {POSTS:.0f})")
    return shot / advice < POSTS


def main() -> int:
    """0 where every bar is met."""
    print(f"load average {os.getloadavg()[0]:.2f} on {os.cpu_count()} processors")
    met = [flying(), answering()]
    return 0 if all(met) else 1


if __name__ == "__main__":
    sys.exit(main())
