"""Flight against the closed form, against an adaptive integrator of scipy, and against a second model of serves."""

import json
from math import cos, radians, sin, sqrt
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tacticapi.court.flight import BOXES, GRAVITY, RPM, Ball, Surface, bounced, fly, launched, net_height
from tacticapi.court.shot import Place, Shot

CHECKS = json.loads((Path(__file__).parent / "data" / "extra_checks.json").read_text())
BALL = Ball(0.0577, 0.0665, 0.507, 0.55)
DENSITY = 1.21
PLACE = Place(BALL, DENSITY, Surface(0.63, 0.81))
MPH = 0.44704
MILLIMETRE = 1e-3
STEP = 0.1  # degrees


def serve_window(shot, place):
    """The lowest and the highest elevation (degrees) of a serve that is in, NaN twice if none is."""
    fan = np.arange(-25.0, 25.0, STEP)
    flight = shot.flown(place, fan, 0.0)
    top = net_height(np.nan_to_num(flight.crossing[0]), place.sticks)
    over = np.nan_to_num(flight.crossing[2] - top - place.ball.radius_m, nan=-1.0)
    short = shot.into.back + place.ball.radius_m - flight.landing[1]
    inside = np.flatnonzero((over >= 0) & (short >= 0))
    if not inside.size:
        return (float("nan"),) * 2
    low, high = inside[0] - 1, inside[-1]
    return [fan[at] + STEP * of[at] / (of[at] - of[at + 1]) for at, of in ((low, over), (high, short))]


@pytest.mark.parametrize(("speed", "elevation"), [(12.0, 35.0), (25.0, 5.0), (30.0, -4.0), (40.0, 60.0)])
def test_without_air_the_ball_lands_where_the_closed_form_says(speed, elevation):
    """Uniform acceleration: range = v cos(a) (v sin(a) + sqrt(v^2 sin^2(a) + 2 g h)) / g."""
    up, drop = radians(elevation), 1.0 - BALL.radius_m
    rise = speed * sin(up)
    expected = speed * cos(up) * (rise + sqrt(rise**2 + 2 * GRAVITY * drop)) / GRAVITY
    flight = fly(launched((0.0, 0.0, 1.0), speed, elevation, 0.0), BALL, 0.0)
    assert flight.landing[1, 0] == pytest.approx(expected, abs=1e-9)


def exact(launch, ball):
    """Landing and passing of the net by scipy's DOP853 at a tolerance of 1e-11."""
    factor, spin = BALL.air_factor(DENSITY), launch.spin[:, ball]

    def slope(_, state):
        v = state[3:]
        speed, across = np.linalg.norm(v), np.cross(spin, v)
        surface = BALL.radius_m * np.linalg.norm(across) / speed
        pull = -factor * BALL.drag * speed * v + factor * BALL.radius_m * speed / (2 * surface + speed) * across
        return np.concatenate([v, pull - np.array([0.0, 0.0, GRAVITY])])

    def ground(_, state):
        return float(state[2] - BALL.radius_m)

    def net(_, state):
        return float(state[1])

    ground.terminal, ground.direction = True, -1
    start = np.concatenate([launch.position[:, ball], launch.velocity[:, ball]])
    found = solve_ivp(slope, (0, 12), start, method="DOP853", rtol=1e-11, atol=1e-11, events=[ground, net])
    return found.y_events[0][0][:3], found.y_events[1][0][:3] if len(found.y_events[1]) else None


def test_landing_and_net_agree_with_an_adaptive_integrator_to_a_millimetre():
    """scipy.integrate.solve_ivp (DOP853): drop shots to serves with every spin, a court's length or more."""
    dice = np.random.default_rng(11)
    speed, up, way = dice.uniform(10, 62, 40), dice.uniform(-8, 45, 40), dice.uniform(-20, 20, 40)
    top, side = dice.uniform(-3000, 4000, 40), dice.uniform(-2000, 2000, 40)
    launch = launched((2.0, -11.885, 1.2), speed, up, way, topspin=top, sidespin=side)
    flight = fly(launch, BALL, DENSITY)
    for ball in range(40):
        landing, net = exact(launch, ball)
        assert np.abs(flight.landing[:, ball] - landing).max() < MILLIMETRE
        assert (net is None) == np.isnan(flight.crossing_time[ball])
        if net is not None:
            assert np.abs(flight.crossing[:, ball] - net).max() < MILLIMETRE


@pytest.mark.parametrize("case", CHECKS["serve_window"][::5], ids=lambda c: f"{c['mph']} {c['h']} {c['topspin_rpm']}")
def test_serve_windows_are_those_of_a_second_program_of_this_model(case):
    """Recomputed fixtures of a model, no published table; the lift formula behind the spun ones is from memory."""
    shot = Shot((0.0, -11.885, case["h"]), (0.0, 6.0), case["mph"] * MPH, case["topspin_rpm"], into=BOXES["ad"])
    low, high = serve_window(shot, PLACE)
    assert low == pytest.approx(case["lo"], abs=2e-3)
    assert high == pytest.approx(case["hi"], abs=2e-3)
    assert high - low == pytest.approx(case["width"], abs=2e-3)


@pytest.mark.parametrize("case", CHECKS["lift"], ids=lambda case: f"{case['v']} {case['rpm']}")
def test_lift_is_the_formula_of_stepanek(case):
    """C_L = 1 / (2 + v / (R w)), Stepanek 1988, Am. J. Phys. 56:138 (from memory): the first pull of the air up."""
    speed, rpm = case["v"], case["rpm"]
    assert 1 / (2 + speed / (BALL.radius_m * rpm * RPM)) == pytest.approx(case["Cl"], abs=6e-5)
    flight = fly(launched((0.0, 0.0, 5.0), speed, 0.0, 0.0, topspin=-rpm), BALL, DENSITY, plane=speed * 0.01)
    time, height = float(flight.crossing_time[0]), float(flight.crossing[2, 0])
    pull = 2 * (height - 5.0) / time**2 + GRAVITY
    assert pull / GRAVITY == pytest.approx(case["lift_over_weight"], rel=0.02)


@pytest.mark.parametrize("case", CHECKS["serve_time"], ids=lambda case: f"{case['mph']} {case['surface']}")
def test_a_flat_serve_takes_as_long_and_keeps_as_much_speed_as_recomputed(case):
    """Recomputed by a second program of this model: from 2.8 m through the middle of the window, about a third of a
    second; the bounce slides."""
    shot = Shot((0.0, -11.885, 2.8), (0.0, 6.0), case["mph"] * MPH, into=BOXES["ad"])
    flight = shot.flown(PLACE, sum(serve_window(shot, PLACE)) / 2, 0.0)
    assert float(flight.time[0]) == pytest.approx(case["t_bounce"], abs=1e-4)
    kept = float(np.linalg.norm(flight.velocity[:, 0])) / shot.speed
    assert kept == pytest.approx(case["speed_at_bounce_frac"], abs=1e-4)
    surface = Surface(0.50, 0.75) if ".50" in case["surface"] else Surface(0.70, 0.85)
    after = bounced(flight, surface, BALL)
    assert float(after.velocity[1, 0] / flight.velocity[1, 0]) == pytest.approx(case["horiz_keep_frac"], abs=2e-4)
