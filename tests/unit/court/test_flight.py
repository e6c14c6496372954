"""Balls in flight: spin bends them as players know it, and each lands once, in front of or behind the net."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.court.flight import bounced, fly, launched

CONTACT = (0.0, -11.885, 1.0)


def test_many_balls_fly_as_each_would_alone(place):
    dice = np.random.default_rng(2)
    speeds, ups, ways = dice.uniform(12, 55, 200), dice.uniform(-8, 45, 200), dice.uniform(-20, 20, 200)
    tops = dice.uniform(-3000, 4000, 200)
    together = fly(launched(CONTACT, speeds, ups, ways, topspin=tops), place.ball, place.density)
    for n in (0, 77, 199):
        alone = fly(launched(CONTACT, speeds[n], ups[n], ways[n], topspin=tops[n]), place.ball, place.density)
        assert np.allclose(alone.landing[:, 0], together.landing[:, n], rtol=0, atol=1e-9)
        assert np.allclose(alone.crossing[:, 0], together.crossing[:, n], rtol=0, atol=1e-9, equal_nan=True)


def test_a_ball_that_drops_before_the_net_never_crosses_it(place):
    flight = fly(launched(CONTACT, 10.0, 0.0, 0.0), place.ball, place.density)
    assert flight.landing[1, 0] < 0
    assert np.isnan(flight.crossing_time[0])


@given(
    speed=st.floats(10, 60),
    down=st.floats(2, 45),
    top=st.floats(-4000, 5000),
    friction=st.floats(0.3, 0.9),
    back=st.floats(0.6, 0.9),
)
def test_a_bounce_never_gains_energy_and_never_pulls_backwards_what_it_grips(
    place, *, speed, down, top, friction, back
):
    ball = place.ball
    flight = fly(launched((0.0, 0.0, 0.5), speed, -down, 10.0, topspin=top), ball, place.density)
    surface = type(place.surface)(friction, back)
    after = bounced(flight, surface, ball)

    def energy(velocity, spin):
        return float(np.sum(velocity**2) + ball.inertia * ball.radius_m**2 * np.sum(spin**2))

    assert energy(after.velocity, after.spin) <= energy(flight.velocity, flight.spin) * (1 + 1e-9)
    assert after.velocity[2, 0] == pytest.approx(-back * flight.velocity[2, 0])

    def slip(velocity, spin):
        return velocity[:2, 0] + ball.radius_m * np.array([-spin[1, 0], spin[0, 0]])

    before, left = slip(flight.velocity, flight.spin), slip(after.velocity, after.spin)
    assert np.dot(left, before) >= -1e-9 * np.dot(before, before)  # its lowest point slides on, or is at rest
