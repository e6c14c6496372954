"""The exact chance to win a point agrees with points played stroke by stroke, and moves the way tennis does."""

from dataclasses import replace
from random import Random

import numpy as np
import pytest

from tests.rehearsal.world.habits import opponent_habits
from tests.rehearsal.world.match import OTHER, OWN, Court
from tests.rehearsal.world.own_plan import own_plan, usual_nature
from tests.rehearsal.world.points import opposition, point_chances
from tests.rehearsal.world.qualities import RATED, User, opponent, own_player
from tests.rehearsal.world.shots import BACKHAND, BALL, FOREHAND, N_STATES, PLAY_STATE, serve_side
from tests.rehearsal.world.strokes import Hitting
from tests.rehearsal.world.tactics import CHANGES, Chosen, played


@pytest.fixture(scope="module")
def pairing():
    nature = usual_nature(left=False)
    own, other = own_player(User(dict.fromkeys(RATED, 2), False)), replace(opponent(nature), rhythm=0.0)
    return own, other, nature, opponent_habits(nature, True, False), own_plan(own, False)


def test_what_comes_of_a_stroke_always_adds_up(pairing):
    own, other, *_ = pairing
    chances = Hitting(own, other).outcomes()
    assert (chances >= 0).all()
    np.testing.assert_allclose(chances.sum(axis=1), 1.0)


def test_a_player_s_choices_add_up_in_every_state(pairing):
    *_, habits, plan = pairing
    for one in (habits, plan):
        np.testing.assert_allclose(np.bincount(PLAY_STATE, one.mix, minlength=N_STATES), 1.0)
        np.testing.assert_allclose(one.serves.sum(axis=(2, 3)), 1.0)


def test_points_played_one_by_one_are_won_as_often_as_the_exact_chance_says(pairing):
    own, other, nature, habits, plan = pairing
    court = Court(own, other, nature, habits, Random(3), plan)
    exact = point_chances(opposition(own, other, habits, 0.0), plan)
    n = 6000
    for server, chance in ((OWN, exact[0]), (OTHER, exact[1])):
        won = sum(court.point(server, i % 2, 0).winner == OWN for i in range(n)) / n
        assert abs(won - chance) < 4 * (chance * (1 - chance) / n) ** 0.5


def test_a_plan_that_leans_to_the_favourite_spot_is_played_as_it_is_priced(pairing):
    own, other, nature, habits, plan = pairing
    court = Court(own, other, nature, habits, Random(5), plan, (0, 0))
    _, chance = point_chances(opposition(own, other, habits, 0.0), plan, (0, 0))
    n = 6000
    won = sum(court.point(OTHER, i % 2, 0).winner == OWN for i in range(n)) / n
    assert abs(won - chance) < 4 * (chance * (1 - chance) / n) ** 0.5


@pytest.mark.parametrize("ball", ["neutral", "high", "low", "wide", "first/T", "second/body"])
def test_whoever_handles_a_ball_worse_loses_more_points(pairing, ball):
    own, other, _, habits, plan = pairing
    handle = other.handle.copy()
    handle[BALL[ball]] -= 0.5
    before = sum(point_chances(opposition(own, other, habits, 0.0), plan))
    after = sum(point_chances(opposition(own, replace(other, handle=handle), habits, 0.0), plan))
    assert after > before + 1e-4


def test_high_balls_pay_against_a_backhand_that_cannot_bear_them_and_cost_against_one_that_can(pairing):
    own, other, _, habits, plan = pairing
    high = played(plan, (Chosen("high-ball-to-high-ball-weakness"),), False)

    def gain(change: float) -> float:
        handle = other.handle.copy()
        handle[BALL["high"], BACKHAND] += change
        facing = opposition(own, replace(other, handle=handle), habits, 0.0)
        return sum(point_chances(facing, high)) - sum(point_chances(facing, plan))

    assert gain(-0.8) > 0.005
    assert gain(0.8) < -0.005


def test_an_opponent_who_adapts_takes_back_some_of_what_a_single_direction_wins(pairing):
    own, other, _, habits, plan = pairing
    weak = other.handle.copy()
    weak[:, BACKHAND] -= 0.5
    everything_there = played(plan, (Chosen("work-weaker-wing"), Chosen("serve-to-hidden-wing")), False)
    won = [
        sum(point_chances(opposition(own, replace(other, handle=weak), habits, a), everything_there))
        for a in (0.0, 1.0)
    ]
    assert won[1] < won[0] - 0.005


def test_no_tactic_pays_much_against_the_usual_opponent(pairing):
    own, _, nature, habits, plan = pairing
    facing = opposition(own, opponent(nature), habits, 0.35)
    plain = sum(point_chances(facing, plan)) / 2
    for name, change in CHANGES.items():
        for aim in change.aims:
            gain = sum(point_chances(facing, played(plan, (Chosen(name, aim),), False))) / 2 - plain
            assert gain < 0.006, name


@pytest.mark.parametrize(
    ("court", "spot", "left", "side"),
    [
        (0, 2, False, BACKHAND),
        (0, 0, False, FOREHAND),
        (1, 2, False, FOREHAND),
        (1, 0, False, BACKHAND),
        (0, 2, True, FOREHAND),
        (1, 0, True, FOREHAND),
    ],
)
def test_a_serve_reaches_the_wing_that_hand_and_court_say(court, spot, left, side):
    assert serve_side(court, spot, left) == side
