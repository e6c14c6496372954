"""A shot's chances: what makes a ball safer, and where to aim instead."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tacticapi.court.flight import net_height
from tacticapi.court.shot import (
    Outcome,
    OutOfReachError,
    Shot,
    Spread,
    Window,
    aimed,
    best_aims,
    fitted_spread,
    judged,
    mirrored,
    shot_margin,
)

DRIVE = Shot((3.5, -12.5, 1.0), (-2.6, 9.9), 27.0, 1800.0)
CORNER = (-4.115, 11.885)


def outcomes(flight, into, place):
    over = flight.crossing[2] - net_height(np.nan_to_num(flight.crossing[0]), place.sticks) - place.ball.radius_m
    return judged(np.nan_to_num(over, nan=-1.0), flight.landing[0], flight.landing[1], into, place.ball.radius_m)


wide_balls = {
    "x": st.floats(2.5, 4.8),
    "speed": st.floats(23.0, 33.0),
    "top": st.floats(800.0, 2800.0),
    "spread": st.floats(1.5, 4.5),
}


@settings(max_examples=5)
@given(**wide_balls)
def test_from_wide_the_same_ball_is_in_more_often_across_than_down_the_line(place, x, speed, top, spread):
    across = Shot((x, -12.2, 1.0), (-2.1, 9.6), speed, top)
    scatter = Spread(spread, spread * 0.85)
    aims = [aimed(shot, place) for shot in (across, mirrored(across))]
    window = Window.of(across, place, aims[0], scatter)
    chances = [{of: window.chance_at(aim, of, scatter) for of in Outcome} for aim in aims]
    assert chances[0][Outcome.IN] > chances[1][Outcome.IN]
    missed = [one[Outcome.NET] + one[Outcome.LONG] for one in chances]
    assert missed[0] < missed[1] + 1e-9


@settings(max_examples=5)
@given(x=st.floats(-4, 4), deep=st.floats(2, 11.5), speed=st.floats(26, 40), side=st.floats(-1500, 1500))
def test_a_ball_struck_as_meant_lands_on_its_target_and_a_lob_goes_over_the_top_to_it(place, x, deep, speed, side):
    shot = Shot((1.0, -12.0, 1.1), (x, deep), speed, 1000.0, side)
    for one in (shot, replace(DRIVE, high=True)):
        aim = aimed(one, place)
        landing = one.flown(place, aim.elevation, aim.azimuth).landing[:2, 0]
        assert np.hypot(*(landing - np.array(one.target))) < 1e-3
    assert aim.elevation > aimed(DRIVE, place).elevation + 20


def test_a_ball_that_is_too_slow_says_how_far_it_gets(place):
    with pytest.raises(OutOfReachError) as refused:
        aimed(replace(DRIVE, speed=12.0), place)
    assert 5 < refused.value.longest < 20


@pytest.mark.parametrize("aside", [0.0, 1e-307, -1e-12])
def test_a_ball_hit_straight_ahead_has_room_to_the_baseline(place, aside):
    shot = Shot((0.0, -12.0, 1.0), (aside, 9.9), 27.0, 1800.0)
    assert shot_margin(shot, place, Spread(2.5, 2.0), CORNER).way.room == pytest.approx(12.0 + 11.885)


@pytest.mark.parametrize("spread", [Spread(1.2, 1.0), Spread(2.5, 2.0), Spread(5.0, 4.0)])
@pytest.mark.parametrize("target", [(-2.6, 9.9), (2.6, 8.0)])
def test_chances_and_landings_are_those_of_many_balls(place, target, spread):
    shot = replace(DRIVE, target=target)
    margin, aim = shot_margin(shot, place, spread, CORNER), aimed(shot, place)
    up, way = np.random.default_rng(3).standard_normal((2, 40_000))
    flight = shot.flown(place, aim.elevation + spread.vertical * up, aim.azimuth + spread.sideways * way)
    codes = outcomes(flight, shot.into, place)
    assert sum(margin.chances.values()) == pytest.approx(1.0)
    for outcome, chance in margin.chances.items():
        assert chance == pytest.approx(np.mean(codes == outcome), abs=0.004 + 4 * np.sqrt(0.25 / codes.size))
    assert margin.landing is not None
    landed = flight.landing[:2, codes != Outcome.NET]
    assert margin.landing.centre == pytest.approx(landed.mean(axis=1), abs=0.08)
    halves = sorted((margin.landing.across, margin.landing.along))
    assert halves == pytest.approx(np.sqrt(2 * np.log(3) * np.linalg.eigvalsh(np.cov(landed))), rel=0.03)


def test_the_best_aim_is_safer_than_the_target_and_depth_moves_it_back(place):
    spread = Spread(2.5, 2.0)
    sure, blend = best_aims(DRIVE, place, spread, 0.5)
    window = Window.of(DRIVE, place, aimed(DRIVE, place), spread)
    assert sure.chance >= window.blurred((window.codes == Outcome.IN).astype(float), spread).max() - 0.02
    assert sure.chance > shot_margin(DRIVE, place, spread, CORNER).chances[Outcome.IN]
    assert blend.from_back < sure.from_back
    assert blend.chance <= sure.chance
    assert sure.spot[0] <= 0  # on the target's side


def test_counts_of_a_known_spread_find_it_again_and_more_balls_narrow_the_interval(place):
    truth = Spread(2.6, 3.1)
    shares = shot_margin(DRIVE, place, truth, CORNER).chances
    counts = ({outcome: balls * share for outcome, share in shares.items()} for balls in (40, 400))
    few, many = (fitted_spread(DRIVE, place, balls) for balls in counts)
    for found, real in ((many.vertical, truth.vertical), (many.sideways, truth.sideways)):
        assert found.low < real < found.high
        assert found.degrees == pytest.approx(real, rel=0.12)
    assert many.vertical.high - many.vertical.low < (few.vertical.high - few.vertical.low) / 2
    in_alone = fitted_spread(DRIVE, place, {Outcome.IN: 5})
    assert (in_alone.vertical.low, in_alone.sideways.low) == (None, None)
    with pytest.raises(ValueError, match="no ball"):
        fitted_spread(DRIVE, place, {})


def test_a_ball_on_the_line_is_in_and_one_beside_it_is_not(place):
    def outcome(x, y):
        shot = Shot((0.0, -12.0, 1.0), (x, y), 30.0, 1500.0)
        aim = aimed(shot, place)
        return int(outcomes(shot.flown(place, aim.elevation, aim.azimuth), shot.into, place)[0])

    assert outcome(4.11, 11.0) == Outcome.IN
    assert outcome(4.2, 11.0) == Outcome.WIDE
    assert outcome(0.0, 11.88) == Outcome.IN
    assert outcome(0.0, 12.0) == Outcome.LONG
    assert outcome(4.5, 12.5) == Outcome.LONG


def test_steadier_players_and_levels_are_in_more_often_and_the_usual_ball_of_a_level_mostly(place, numbers):
    levels = [Spread(level["vertical"], level["sideways"]) for level in numbers["spreads"].values()]
    for spreads in ([Spread(degrees, degrees) for degrees in (5.0, 3.0, 1.5)], levels):
        chances = [shot_margin(DRIVE, place, spread, CORNER).chances[Outcome.IN] for spread in spreads]
        assert chances == sorted(chances)
    assert 0.4 < chances[0] < chances[-1] < 0.99
    flat = Shot((0.0, -12.0, 0.3), (0.0, 10.0), 60.0)  # nearly all its balls meet the net
    assert shot_margin(flat, place, Spread(0.3, 0.3), CORNER).landing is None
