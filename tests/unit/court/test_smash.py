"""Smashes across the body and the other way, for both hands and both wings."""

import pytest

from tacticapi.court.shot import OutOfReachError
from tacticapi.court.smash import Smash, across_chance, least_depth, reply_stand
from tacticapi.court.standing import Mover


def smash(x, hand="right", speed=22.0, across=0.65):
    return Smash((x, 7.0, 2.7), speed, hand, across, 0.7)


@pytest.mark.parametrize(("x", "across"), [(-2.0, "cross"), (2.0, "line")])
def test_across_the_body_is_cross_court_from_the_forehand_side_and_a_left_hander_mirrors_it(place, mover, x, across):
    stands = []
    for side, hand in ((1, "right"), (-1, "left")):
        assert smash(side * x, hand).direction("across") == across
        assert smash(side * x, hand).direction("other") != across
        stands.append(reply_stand(smash(side * x, hand), place, mover, -12.885))
    assert stands[0].spot[0] == pytest.approx(-stands[1].spot[0])
    assert stands[0].covered == stands[1].covered


def test_a_fast_smash_leaves_one_way_and_the_likelier_one_is_covered(place, mover):
    assert reply_stand(smash(-2.0, speed=32.0), place, mover, -12.885).covered == ("across",)
    assert reply_stand(smash(-2.0, speed=32.0, across=0.3), place, mover, -12.885).covered == ("other",)


def test_further_back_there_is_time_for_both(place, mover):
    near, deep = reply_stand(smash(-2.0), place, mover, -11.885), least_depth(smash(-2.0), place, mover)
    assert len(deep.covered) == 2
    assert deep.chance == 1.0
    assert deep.spot[1] < near.spot[1] or len(near.covered) == 2


def test_what_is_covered_is_within_reach_of_the_stand(place, mover):
    for speed in (20.0, 24.0, 30.0):
        reply = reply_stand(smash(1.0, speed=speed), place, mover, -13.0)
        for ball in reply.balls:
            assert (abs(ball.x - reply.spot[0]) <= ball.within + 1e-6) == (ball.way in reply.covered)


def test_the_likelier_way_is_covered_by_whoever_has_no_time_to_move(place):
    reply = reply_stand(smash(-2.0, speed=70.0), place, Mover(0.8, 0.5, 0.5, 0.2), -2.0)
    assert [ball.within for ball in reply.balls] == [0.0, 0.0]
    assert (reply.spot[0], reply.covered, reply.chance) == (reply.balls[0].x, ("across",), 0.65)


def test_counted_smashes_move_the_usual_share():
    prior = {"share": 0.65, "smashes": 4}
    assert across_chance(prior) == 0.65
    assert across_chance(prior, 0, 8) < 0.3
    assert across_chance(prior, 8, 8) > 0.85


def test_a_smash_that_cannot_get_in_is_refused(place, mover):
    with pytest.raises(OutOfReachError):
        reply_stand(Smash((0.0, 14.0, 2.7), 8.0, "right", 0.6, 0.7), place, mover, -12.885)
