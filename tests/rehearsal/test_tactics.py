"""Tactics as they are played: every one is in the rulebook, changes something, and keeps choices whole."""

import numpy as np
import pytest

from tacticapi.knowledge import load
from tests.rehearsal.world.own_plan import own_plan
from tests.rehearsal.world.pairing import SHORTLIST, draw_pairing
from tests.rehearsal.world.qualities import RATED, User, own_player
from tests.rehearsal.world.shots import BACKHAND, FOREHAND, N_STATES, PLAY_SHOT, PLAY_STATE, PLAY_TARGET, SHOT
from tests.rehearsal.world.tactics import CHANGES, Chosen, options, played, reads_serves

PLAN = own_plan(own_player(User(dict.fromkeys(RATED, 2), False)), False)


def test_at_least_twenty_five_tactics_of_serve_return_rally_and_net_can_be_played():
    tactics = load().tactics
    assert set(CHANGES) <= set(tactics)
    assert len(CHANGES) >= 25
    assert {"serve", "return", "rally", "approach-and-net"} <= {tactics[name].category for name in CHANGES}


@pytest.mark.parametrize("one", options(), ids=lambda one: f"{one.tactic}-{one.aim}")
def test_every_tactic_changes_what_is_chosen_and_choices_stay_whole(one):
    plan = played(PLAN, (one,), False)
    changed = not np.allclose(plan.mix, PLAN.mix) or not np.allclose(plan.serves, PLAN.serves)
    assert changed or reads_serves((one,))
    np.testing.assert_allclose(np.bincount(PLAY_STATE, plan.mix, minlength=N_STATES), 1.0)
    np.testing.assert_allclose(plan.serves.sum(axis=(2, 3)), 1.0)


def test_a_tactic_unknown_here_is_played_as_no_change():
    plan = played(PLAN, (Chosen("split-step-at-opponents-hit"),), False)
    np.testing.assert_allclose(plan.mix, PLAN.mix)


def test_the_low_slice_goes_low_and_to_the_wing_it_is_aimed_at():
    for aim in (FOREHAND, BACKHAND):
        plan = played(PLAN, (Chosen("low-slice-to-low-ball-weakness", aim),), False)
        more = plan.mix > PLAN.mix + 1e-9
        assert set(PLAY_SHOT[more]) == {SHOT["low"]}
        assert set(PLAY_TARGET[more]) == {aim}


def test_the_order_of_tactics_does_not_matter():
    two = Chosen("work-weaker-wing"), Chosen("high-ball-to-high-ball-weakness")
    a, b = played(PLAN, two, False), played(PLAN, two[::-1], False)
    np.testing.assert_allclose(a.mix, b.mix)


def test_whoever_knows_everything_never_does_worse_than_the_sensible_plan():
    for index in range(5):
        p = draw_pairing(8, index)
        plain = p.chances(()).point
        gains = [p.chances(chosen, p.favourites).point - plain for chosen in p.best(3, p.singles())]
        assert 0 <= gains[0] <= gains[1] <= gains[2]


def test_whoever_knows_everything_adds_no_more_once_nothing_more_pays():
    p = draw_pairing(8, 0)
    singles = p.singles()
    *_, last, after = p.best(SHORTLIST, singles)
    assert len(last) < SHORTLIST - 1
    assert after == last
    value = p.chances(last, p.favourites).point
    shortlist = [options()[n] for n in np.argsort(singles)[::-1][:SHORTLIST]]
    assert set(last) < set(shortlist)
    assert all(p.chances((*last, one), p.favourites).point <= value for one in shortlist if one not in last)
