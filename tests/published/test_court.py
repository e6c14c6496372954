"""Court, ball and bounce against the rules of the game, published formulas, and figures recomputed elsewhere.

Each check names its source; what was recomputed by another program from a stated model says so and is no publication.
"""

import json
from math import cos, radians, sin
from pathlib import Path

import numpy as np
import pytest

from tacticapi.court.flight import Ball, Flight, Surface, air_density, bounced, net_height
from tacticapi.court.standing import Angles, ball_of, bisected, surface_of, widest
from tacticapi.domain.court import BASELINE_M, DOUBLES_POST_M, SERVICE_LINE_M, SIDELINE_M, STICK_M
from tacticapi.rulebook.load import court_numbers

CHECKS = json.loads((Path(__file__).parent / "data" / "extra_checks.json").read_text())
GEOMETRY = CHECKS["geometry"]
BALL = Ball(0.0577, 0.0665, 0.507, 0.55)


def test_lines_and_posts_are_those_of_the_rules():
    """ITF Rules of Tennis, Rule 1 (text seen): 23.77 m by 8.23 m, service line 6.40 m from the net."""
    assert GEOMETRY["baseline_to_net"] == BASELINE_M
    assert GEOMETRY["half_width_singles"] == SIDELINE_M
    assert GEOMETRY["service box length"] == SERVICE_LINE_M
    assert GEOMETRY["post_x_singles_sticks"] == STICK_M
    assert pytest.approx(GEOMETRY["post_x_doubles"]) == DOUBLES_POST_M


def test_the_net_is_914_mm_high_in_the_middle_and_107_cm_at_the_posts():
    """The same rule: 0.914 m and 1.07 m; between them the straight line is ours, its values recomputed."""
    assert net_height(0.0) == 0.914
    assert net_height([STICK_M, -STICK_M, 9.0]) == pytest.approx(1.07)
    assert net_height(DOUBLES_POST_M, sticks=False) == pytest.approx(1.07)
    assert net_height(SIDELINE_M) == pytest.approx(GEOMETRY["net_height_at_singles_sideline_with_sticks"], abs=5e-6)
    without = GEOMETRY["net_height_at_singles_sideline_doubles_posts(no sticks)"]
    assert net_height(SIDELINE_M, sticks=False) == pytest.approx(without, abs=5e-6)
    wide = GEOMETRY["wide serve from centre: net crossing x"]
    assert net_height(wide) == pytest.approx(GEOMETRY["wide serve: net height there (sticks)"], abs=5e-6)


@pytest.mark.parametrize("case", GEOMETRY["bisector"], ids=lambda case: f"{case['ball'][0]} {case['cross_target']}")
def test_the_middle_of_the_angles_is_where_plain_geometry_puts_it(case):
    """Recomputed geometry. Players go back to that line: Benguigui et al. 2024, Sci Rep 14:3364 (abstract seen)."""
    x = case["ball"][0]
    deep = SERVICE_LINE_M if case["cross_target"] == "service line" else BASELINE_M
    angles = Angles((SIDELINE_M, -BASELINE_M), (-SIDELINE_M, -deep))
    stand = bisected((x, BASELINE_M), angles, -case["recover_y"])
    assert stand.spot[0] == pytest.approx(case["base_x"], abs=6e-5)
    assert stand.angle == pytest.approx(case["angle_deg"], abs=6e-5)


def test_an_opponent_in_the_corner_is_awaited_1_203_m_to_the_other_side():
    """Recomputed: contact at +4.115 m, one metre behind the baseline."""
    corner = (SIDELINE_M, BASELINE_M)
    for angles in (widest(corner), widest(corner, line_deep=True)):
        assert bisected(corner, angles, -BASELINE_M - 1).spot[0] == pytest.approx(-1.203, abs=5e-4)


def pace_category(surface):
    """Return 1 slow to 5 fast by 100 (1 - mu) + 150 (0.81 - e): ITF CS 01/02, technical booklet 2015 (excerpt seen).

    Categories, ITF Rules of Tennis, appendix I: 0-29, 30-34, 35-39, 40-44, 45 and more.
    """
    rating = 100 * (1 - surface.friction) + 150 * (0.81 - surface.restitution)
    return 1 + sum(round(rating) >= least for least in (30, 35, 40, 45))


def test_each_court_of_ours_lies_in_its_category():
    """The pairs of friction and restitution are ours; the formula and the categories are the ITF's."""
    numbers = court_numbers()
    for name, court in numbers["surfaces"].items():
        assert pace_category(surface_of(numbers, name)) == court["category"]


def rolls(after, ball):
    """Whether the ball rolls as it leaves the ground: its lowest point is at rest."""
    (vx, vy, _), (wx, wy, _) = after.velocity[:, 0], after.spin[:, 0]
    return bool(np.hypot(vx - ball.radius_m * wy, vy + ball.radius_m * wx) < 1e-9)


@pytest.mark.parametrize("case", CHECKS["cpr_test_shot"], ids=lambda case: f"{case['mu']} {case['e']}")
def test_the_test_shot_leaves_a_sliding_bounce_as_recomputed(case):
    """30 m/s at 16 degrees without spin (ITF CS 01/02); the speeds after it recomputed for a ball that slides."""
    flight = struck_down(30.0, 16.0)
    surface = Surface(case["mu"], case["e"])
    after = bounced(flight, surface, BALL)
    assert after.velocity[2, 0] == pytest.approx(case["vfy"], abs=6e-5)
    assert rolls(after, BALL) is (case["mu"] >= 0.7)
    if rolls(after, BALL):  # on the roughest court our ball rolls just before it leaves: it loses less
        assert case["vfx"] < after.velocity[1, 0] < case["vfx"] * 1.1
    else:
        assert after.velocity[1, 0] == pytest.approx(case["vfx"], abs=6e-5)


def test_friction_is_found_again_from_the_speeds():
    """mu = (vix - vfx) / (viy (1 + e)), ITF CS 01/02: a ball that slides throughout."""
    flight, surface = struck_down(30.0, 16.0), Surface(0.58, 0.79)
    after = bounced(flight, surface, BALL)
    lost = flight.velocity[1, 0] - after.velocity[1, 0]
    assert lost / (-flight.velocity[2, 0] * 1.79) == pytest.approx(surface.friction)


def test_the_ball_is_a_legal_one_and_its_drag_within_the_published_bounds():
    """ITF appendix I; drag 0.507 +/- 0.024 in flight, Cross & Lindsey, Sports Engineering (abstract seen)."""
    ball = ball_of(court_numbers())
    assert 0.0560 <= ball.mass_kg <= 0.0594
    assert 0.0654 <= ball.diameter_m <= 0.0686
    assert abs(ball.drag - 0.507) <= 0.024


def test_drag_against_weight_is_as_recomputed():
    """Recomputed for 57.7 g, 6.65 cm, 1.21 kg/m3 and 0.507."""
    for speed, expected in CHECKS["drag_over_weight"].items():
        drag = BALL.air_factor(1.21) * BALL.drag * float(speed) ** 2 / 9.81
        assert drag == pytest.approx(expected, rel=1e-3)


def test_air_at_15_degrees_by_the_sea_is_that_of_the_standard_atmosphere():
    """ISO 2533: 1.225 kg/m3 at 15 degrees and 0 m; 1.112 at 1000 m and 8.5 degrees (values from memory)."""
    assert air_density(15, 0) == pytest.approx(1.225, abs=5e-4)
    assert air_density(8.5, 1000) == pytest.approx(1.112, abs=1e-3)


def struck_down(speed, degrees_down):
    """A ball that meets the ground at this speed and angle, without spin."""
    down = radians(degrees_down)
    velocity = np.array([[0.0], [speed * cos(down)], [-speed * sin(down)]])
    nowhere, never = np.full((3, 1), np.nan), np.full(1, np.nan)
    return Flight(np.array([[0.0], [5.0], [BALL.radius_m]]), velocity, np.zeros(1), nowhere, never, np.zeros((3, 1)))
