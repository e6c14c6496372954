"""Five worlds, each different from home as it says, and a shift that moves usual shares and nobody's quality."""

from collections import Counter
from random import Random

import numpy as np
import pytest

from tests.rehearsal.world.habits import opponent_habits
from tests.rehearsal.world.match import OTHER, OWN, Court, Score, play_game
from tests.rehearsal.world.own_plan import usual_nature
from tests.rehearsal.world.pairing import draw_pairing
from tests.rehearsal.world.qualities import draw_nature, opponent
from tests.rehearsal.world.shots import BACKHAND, BALL, FOREHAND
from tests.rehearsal.world.sightings import reached_net
from tests.rehearsal.world.strokes import ERROR, Hitting
from tests.rehearsal.world.truths import misses_more_on_the_backhand, truths
from tests.rehearsal.world.worlds import HOME, WORLDS, World, shifted

MANY = 300


@pytest.fixture(scope="module", params=WORLDS)
def points(request):
    """Count what happens in a set against each of 40 opponents of a world."""
    found = Counter(world=request.param)
    for index in range(40):
        p = draw_pairing(51, index, WORLDS[request.param])
        court, score = Court(p.own, p.other, p.nature, p.habits, Random(index), p.plan), Score()
        while not score.sets:
            for point in play_game(court, score):
                found["firsts"] += point.faults == 0
                found["aces"] += point.faults == 0 and not point.strokes
                unreturned = not point.strokes or point.strokes[0].outcome == ERROR
                found["unreturned"] += point.faults == 0 and unreturned
                for who in (OWN, OTHER):
                    found["net"] += reached_net(point, who)
                    found["net won"] += reached_net(point, who) and point.winner == who
    return found


def test_net_points_are_won_near_two_in_three_in_every_world(points):
    more = 0.07 if points["world"] == "club" else 0.0
    assert points["net won"] / points["net"] == pytest.approx(0.65 + more, abs=0.05)


def test_some_first_serves_are_aces_and_more_come_back_in_no_way(points):
    assert 0.04 < points["aces"] / points["firsts"] < 0.14
    assert 0.28 < points["unreturned"] / points["firsts"] < 0.44


def natures(world: World):
    return [draw_nature(np.random.default_rng([61, index]), world) for index in range(MANY)]


def spreads(world: World) -> tuple[float, float]:
    """Return the spread over opponents of the wing gap, and of high balls against other balls of that wing."""
    handles = [opponent(nature).handle for nature in natures(world)]
    gap = [h[BALL["neutral"], BACKHAND] - h[BALL["neutral"], FOREHAND] for h in handles]
    kind = [h[BALL["high"], BACKHAND] - h[BALL["neutral"], BACKHAND] for h in handles]
    return float(np.std(gap)), float(np.std(kind))


def test_in_the_wide_world_all_spreads_are_doubled():
    assert spreads(WORLDS["wide"]) == pytest.approx([2 * spread for spread in spreads(HOME)], rel=0.02)


def test_in_the_world_of_wings_the_wings_differ_more_and_the_kinds_of_ball_less():
    (gap, kind), (usual_gap, usual_kind) = spreads(WORLDS["wings"]), spreads(HOME)
    assert gap == pytest.approx(2.0 * usual_gap, rel=0.02)
    assert kind == pytest.approx(0.4 * usual_kind, rel=0.02)


def test_at_the_club_more_is_missed_and_a_change_of_ball_matters_less():
    (home, club) = (opponent(usual_nature(False, world)) for world in (HOME, WORLDS["club"]))
    assert (Hitting(club, club).outcomes()[:, ERROR] > Hitting(home, home).outcomes()[:, ERROR]).mean() > 0.95
    assert club.rhythm == pytest.approx(0.4 * home.rhythm)


@pytest.mark.parametrize(("world", "low", "high"), [("home", 0.25, 0.75), ("independent", -0.15, 0.15)])
def test_qualities_go_together_except_in_the_world_without_shared_factors(world, low, high):
    z = [(n["volley_forehand"], n["volley_backhand"]) for n in natures(WORLDS[world])]
    assert low < np.corrcoef(z, rowvar=False)[0, 1] < high


def test_no_shift_is_the_world_itself():
    one, two = (draw_pairing(3, 1, world) for world in (WORLDS["club"], shifted(WORLDS["club"], 9, 0.0)))
    assert one.chances(()) == two.chances(())
    np.testing.assert_array_equal(one.habits.mix, two.habits.mix)


def test_a_shift_is_the_same_for_a_seed_and_a_world_and_moves_every_share_by_as_much_as_said():
    moves = [shifted(HOME, seed, 0.3).shifts for seed in range(60)]
    again = shifted(HOME, 5, 0.3).shifts
    for name, moved in again.items():
        np.testing.assert_array_equal(moved, moves[5][name])
        assert np.std([m[name] for m in moves]) == pytest.approx(0.3, abs=0.07), name
    assert (shifted(WORLDS["wide"], 5, 0.3).shifts["error"] != again["error"]).all()


def test_a_shift_moves_usual_shares_and_nobody_s_quality():
    world = shifted(HOME, 4, 0.3)
    one, two = (opponent(draw_nature(np.random.default_rng(7), w)) for w in (HOME, world))
    np.testing.assert_array_equal(one.handle, two.handle)
    assert not np.allclose(Hitting(one, one).outcomes(), Hitting(two, two).outcomes())
    assert not np.allclose(one.serves_in, two.serves_in)
    usual, moved = (opponent_habits(usual_nature(False, w), True, False) for w in (HOME, world))
    assert not np.allclose(usual.mix, moved.mix)


def test_weak_is_against_the_usual_player_of_the_shifted_world_and_the_weaker_wing_misses_more_there():
    shifts = {**HOME.shifts, "error": np.zeros_like(HOME.shifts["error"])}
    shifts["error"][:, BACKHAND] = 2.0
    hard_on_backhands = World("hard", shifts=shifts)
    usual, there = ([draw_pairing(6, index, world) for index in range(30)] for world in (HOME, hard_on_backhands))
    for strokes in (("weak_high_backhand", "backhand"), ("weak_low_ball", "backhand"), ("weak_forehand", "forehand")):
        assert [truths(p)[strokes] for p in usual] == [truths(p)[strokes] for p in there]
    assert all(misses_more_on_the_backhand(p) for p in there)
    assert not all(misses_more_on_the_backhand(p) for p in usual)
