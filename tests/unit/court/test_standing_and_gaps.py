"""Where to stand, how far a player gets, how big a gap is enough, and what patterns do."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.court.shot import Shot
from tacticapi.court.standing import (
    PATTERNS,
    Mover,
    Rally,
    Running,
    arrival,
    bisected,
    conceded,
    covering_line,
    gap,
    opening,
    openings,
    widest,
)

movers = st.builds(Mover, st.floats(0.1, 0.4), st.floats(2, 9), st.floats(3, 8), st.floats(0.5, 1.5))
RALLY_BALL = Shot((1.0, -12.2, 1.0), (-3.1, 10.4), 25.0, 1500.0)


@given(x=st.floats(0, 6), line=st.sampled_from([-12.885, -11.885, -2.5]))
def test_the_stand_mirrors_with_the_ball(x, line):
    one, other = (bisected((side * x, 11.885), widest((side * x, 11.885)), line) for side in (1.0, -1.0))
    assert one.spot[0] == pytest.approx(-other.spot[0], abs=1e-9)


@given(x=st.floats(0.3, 6))
def test_behind_the_baseline_one_waits_away_from_the_ball_and_at_the_net_towards_it(x):
    back, net = (bisected((x, 11.885), widest((x, 11.885)), line).spot[0] for line in (-12.885, -2.0))
    assert back < 0 < net


@given(mover=movers, distance=st.floats(0, 9), one=st.floats(0, 3), more=st.floats(0, 2))
def test_reach_time_and_what_is_covered_undo_each_other_and_more_time_never_covers_less(mover, distance, one, more):
    assert mover.covered(mover.reach_time(distance)) == pytest.approx(max(distance, mover.reach))
    assert mover.covered(one + more) >= mover.covered(one)


@given(mover=movers, time=st.floats(0.5, 2), run=st.floats(0.2, 3))
def test_whoever_runs_the_wrong_way_covers_less_and_the_right_way_more(mover, time, run):
    assert mover.covered(time, -run) <= mover.covered(time) <= mover.covered(time, min(run, mover.top_speed)) + 1e-9


def test_covering_the_line_brings_it_within_reach_and_gives_the_cross_away(mover):
    middle = bisected((4.115, 11.885), widest((4.115, 11.885)), -12.885)
    line = covering_line(middle, mover)
    assert line.to_line == pytest.approx(mover.reach)
    metres, seconds = conceded(middle, line, mover)
    assert metres == pytest.approx(middle.to_line - mover.reach)
    assert seconds > 0.5
    near = bisected((0.0, 11.885), widest((0.0, 11.885)), -2.5)
    long_arms = replace(mover, reach=9.0)  # the line is within reach already: nothing is given away
    assert conceded(near, covering_line(near, long_arms), long_arms) == (0.0, 0.0)


def test_a_ball_comes_to_lines_further_back_later_and_one_that_bounces_twice_in_front_is_met_there(place):
    met = [arrival(RALLY_BALL, place, line) for line in (8.0, 11.0, 13.0, 15.0)]
    times = [one.time for one in met]
    assert times == sorted(times)
    assert met[0].height > place.ball.radius_m
    twice = arrival(Shot((0.0, -4.0, 1.0), (0.0, 1.5), 9.0, -1500.0), place, 12.885)
    assert twice.spot[1] < 12.0
    assert twice.height == pytest.approx(place.ball.radius_m, abs=1e-6)


def test_a_gap_grows_with_their_distance_and_a_faster_ball_needs_less(place, mover):
    near, far = (gap(RALLY_BALL, place, Running((x, 12.885)), mover) for x in (-1.0, 3.0))
    assert far.open > near.open
    assert far.needed == pytest.approx(near.needed)
    assert far.enough
    assert not near.enough
    quick = gap(replace(RALLY_BALL, speed=34.0), place, Running((3.0, 12.885)), mover)
    assert quick.needed < far.needed


def rally(place, mover, x=0.0):
    times = {"reply_time": 1.3, "recovery": 3.0, "late": 0.15}
    return Rally(RALLY_BALL, place, mover, (x, 12.885), strong=1, margin=1.0, closer=4.0, **times)


def test_every_opening_is_a_gap_that_beats_and_the_rest_say_the_largest_found(place, mover):
    found = openings(rally(place, mover))
    assert {one.pattern for one in found} == set(PATTERNS)
    assert all((one.balls is not None) == one.gap.enough for one in found)
    assert opening(PATTERNS[0], rally(place, mover, x=3.5)).balls == 1  # a gap that is there already
    played = rally(place, mover)
    slow = replace(played, shot=replace(played.shot, speed=5.0))  # too slow to reach any target
    assert {(one.balls, one.gap) for one in openings(slow)} == {(None, None)}
