"""From the profile to beliefs: the ceiling, reasons, favourite spots, earlier matches, what is never read."""

from dataclasses import replace
from datetime import date
from math import isfinite

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.domain.situation import Earlier, Observation, Way, Wing

from ...builders import spots, tally


def belief(evidence, asked, trait, wing=None):
    return evidence.believe(asked).by_key[trait, wing]


FLOOD = [
    tally("warmup.backhand_made", 2, 30),
    {"what": "warmup.high_backhand", "rating": 0},
    {"what": "warmup.low_backhand", "rating": 0},
    {"what": "warmup.backhand_contact", "value": "late"},
    tally("warmup.ran_round_backhand", 12, 12),
    tally("warmup.middle_ball_on_forehand", 12, 12),
]


def test_no_flood_of_warm_up_evidence_breaks_the_ceiling(evidence, situation):
    told = evidence.believe(situation(moment="after-warm-up", observations=FLOOD))
    assert max(b.probability for b in told.all) == pytest.approx(0.80, abs=0.005)


def test_games_move_on_from_the_ceiling_and_a_good_ball_never_lifts_it(evidence, situation):
    poor, good = (tally("rally.against_high_ball", n, 8, wing="backhand") for n in (1, 7))
    early, poorer, better = (
        belief(evidence, situation(observations=[*FLOOD, *more]), "weak_high_backhand", Wing.BACKHAND).probability
        for more in ([], [poor], [good])
    )
    assert better < early <= 0.8 + 1e-9 < poorer


def test_every_reason_says_which_way_it_moved_the_belief(evidence, situation):
    """Leaving a reason out moves the belief the other way; a count at the usual share speaks against a weakness."""
    posted = [tally("rally.against_high_ball", 1, 8, wing="backhand"), tally("return.against_kick", 7, 8)]
    whole = belief(evidence, situation(observations=posted), "weak_high_backhand", Wing.BACKHAND)
    for part in whole.contributions:
        rest = [one for one in posted if one["what"] != part.what]
        without = belief(evidence, situation(observations=rest), "weak_high_backhand", Wing.BACKHAND)
        assert (whole.probability > without.probability) is (part.log_odds > 0)
    usual = situation(observations=[tally("rally.forehand_errors", 12, 60)])
    found = belief(evidence, usual, "weak_forehand", Wing.FOREHAND)
    assert found.probability < found.prior
    assert found.contributions[0].log_odds < 0


def test_one_court_with_a_favourite_is_a_favourite(evidence, situation):
    even, both = (
        belief(evidence, situation(observations=seen), "serve_predictable")
        for seen in ([spots("ad", 3, 3, 3)], [spots("ad", 3, 3, 3), spots("deuce", 8, 0, 1)])
    )
    assert even.probability < even.prior < both.probability


@given(wide=st.integers(0, 12), body=st.integers(0, 12), t=st.integers(0, 12))
def test_more_serves_to_the_leading_spot_make_a_favourite_likelier(wide, body, t, evidence, situation):
    if wide <= max(body, t) or not wide:
        return
    less, more = (
        belief(evidence, situation(observations=[spots("ad", n, body, t)]), "serve_predictable").probability
        for n in (wide, wide + 2)
    )
    assert more > less


@pytest.mark.parametrize("counts", [(10_000, 10_000, 10_000), (10_000, 0, 0)])
def test_ten_thousand_serves_leave_a_chance_on_either_side(counts, evidence, situation):
    found = belief(evidence, situation(observations=[spots("ad", *counts)]), "serve_predictable")
    assert 0.0 < found.probability < 1.0
    assert all(isfinite(part.log_odds) for part in found.contributions)


def test_first_and_second_serves_are_counted_apart_and_their_shares_sum_to_one(evidence, situation):
    mixed = [spots("ad", 6, 0, 0, serve="first"), spots("ad", 0, 6, 0, serve="second")]
    shares = {(c.court, c.serve): c.shares() for c in evidence.believe(situation(observations=mixed)).spots}
    favourites = {cell: max(of, key=of.__getitem__) for cell, of in shares.items()}
    assert favourites == {("ad", "first"): "wide", ("ad", "second"): "body"}
    assert [sum(of.values()) for of in shares.values()] == pytest.approx([1, 1])


def seen_before(*, day=1, weight=1.0, hits=14.0, of=20.0):
    counted = Observation(0, "rally.backhand_errors", Way.COUNT, count=hits, of=of)
    return Earlier(date(2026, 5, day), "clay", weight, (counted,))


def weak(evidence, asked):
    return belief(evidence, asked, "weak_high_backhand", Wing.BACKHAND)


def test_an_earlier_match_moves_a_belief_less_than_this_one_the_less_the_older_it_is_and_says_its_day(
    evidence, situation
):
    today = situation(observations=[tally("rally.backhand_errors", 14, 20)])
    fresh, old = (replace(situation(), earlier=(seen_before(weight=weight),)) for weight in (1.0, 0.3))
    now, then, longer_ago = (weak(evidence, one) for one in (today, fresh, old))
    assert then.prior < longer_ago.probability < then.probability < now.probability
    assert then.contributions[0].text == "2026-05-01: backhand errors: 14 of 20"
    assert then.contributions[0].observations == ()


def test_more_earlier_matches_say_more_but_never_as_much_as_this_one(evidence, situation):
    earlier = [tuple(seen_before(day=day) for day in range(1, n + 1)) for n in (0, 1, 2, 8)]
    chances = [weak(evidence, replace(situation(), earlier=one)).probability for one in earlier]
    assert chances == sorted(chances)
    assert chances[-1] < weak(evidence, situation(observations=[tally("rally.backhand_errors", 112, 160)])).probability
