"""From the profile to beliefs: the ceiling, reasons, favourite spots, earlier matches, what is never read."""

import math
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.domain.reasoning import Belief
from tacticapi.domain.situation import Earlier, Observation, Situation, Way, Wing
from tacticapi.evidence.beliefs import EvidenceModel, largest_moves

RUN_ROUND = {"what": "rally.ran_round_backhand", "count": 9, "of": 10}


def belief(evidence: EvidenceModel, asked: Situation, trait: str, wing: Wing | None = None) -> Belief:
    return evidence.believe(asked).by_key[trait, wing]


FLOOD = [
    {"what": "warmup.backhand_made", "count": 2, "of": 30},
    {"what": "warmup.high_backhand", "rating": 0},
    {"what": "warmup.low_backhand", "rating": 0},
    {"what": "warmup.backhand_contact", "value": "late"},
    {"what": "warmup.ran_round_backhand", "count": 12, "of": 12},
    {"what": "warmup.middle_ball_on_forehand", "count": 12, "of": 12},
]


def test_no_flood_of_warm_up_evidence_breaks_the_ceiling(evidence, situation):
    told = evidence.believe(situation(moment="after-warm-up", observations=FLOOD))
    assert max(b.probability for b in told.all) == pytest.approx(0.80, abs=0.005)


def test_games_move_on_from_the_ceiling_and_a_good_ball_never_lifts_it(evidence, situation):
    poor, good = ({"what": "rally.against_high_ball", "wing": "backhand", "count": n, "of": 8} for n in (1, 7))
    early, poorer, better = (
        belief(evidence, situation(observations=[*FLOOD, *more]), "weak_high_backhand", Wing.BACKHAND).probability
        for more in ([], [poor], [good])
    )
    assert better < early <= 0.8 + 1e-9 < poorer


def test_one_reason_is_told_in_counts_with_the_places_it_rests_on(evidence, situation):
    posted = [{"what": "rally.against_pace", "count": 3, "of": 5, "wing": "forehand"}, RUN_ROUND]
    (first, *_) = belief(evidence, situation(observations=posted), "prefers_forehand").contributions
    assert (first.what, first.observations, first.chances) == ("rally.ran_round_backhand", (1,), 10)
    assert first.text == "backhand balls run round: 9 of 10"
    assert first.log_odds > 0.5


def test_a_count_at_the_usual_share_speaks_against_a_weakness(evidence, situation):
    usual = {"what": "rally.forehand_errors", "count": 12, "of": 60}
    found = belief(evidence, situation(observations=[usual]), "weak_forehand", Wing.FOREHAND)
    assert found.probability < found.prior
    assert found.contributions[0].log_odds < 0


def test_every_reason_says_which_way_it_moved_the_belief(evidence, situation):
    """Leaving a reason out moves the belief the other way."""
    posted = [
        {"what": "rally.against_high_ball", "count": 1, "of": 8, "wing": "backhand"},
        {"what": "return.against_kick", "count": 7, "of": 8},
    ]
    whole = belief(evidence, situation(observations=posted), "weak_high_backhand", Wing.BACKHAND)
    for part in whole.contributions:
        rest = [one for one in posted if one["what"] != part.what]
        without = belief(evidence, situation(observations=rest), "weak_high_backhand", Wing.BACKHAND)
        assert (whole.probability > without.probability) is (part.log_odds > 0)


def test_facts_of_the_opponent_count_and_rest_on_no_observation(evidence, situation):
    found = belief(evidence, situation(opponent={"backhand_type": "slice"}), "slice_backhand_only", Wing.BACKHAND)
    assert found.probability > found.prior
    assert found.contributions[0].observations == ()


def test_who_the_opponent_is_off_the_court_moves_nothing(evidence, situation):
    plain = evidence.believe(situation())
    told = evidence.believe(situation(opponent={"handedness": "left", "age_band": "U14", "previous_meeting": "lost"}))
    assert told.all == plain.all


# Serve spots ----------------------------------------------------------------------------------------------------------


def spots(court: str, wide: int, body: int, t: int, **more: Any) -> dict[str, Any]:
    return {"what": f"serve.{court}_court_spots", "counts": {"wide": wide, "body": body, "T": t}, **more}


def test_one_court_with_a_favourite_is_a_favourite(evidence, situation):
    even = belief(evidence, situation(observations=[spots("ad", 3, 3, 3)]), "serve_predictable")
    both = belief(
        evidence, situation(observations=[spots("ad", 3, 3, 3), spots("deuce", 8, 0, 1)]), "serve_predictable"
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
    assert all(math.isfinite(part.log_odds) for part in found.contributions)


def test_first_and_second_serves_are_counted_apart(evidence, situation):
    mixed = [spots("ad", 6, 0, 0, serve="first"), spots("ad", 0, 6, 0, serve="second")]
    cells = evidence.believe(situation(observations=mixed)).spots
    assert {(cell.court, cell.serve): max(cell.shares(), key=lambda s: cell.shares()[s]) for cell in cells} == {
        ("ad", "first"): "wide",
        ("ad", "second"): "body",
    }


def test_the_shares_of_the_next_serve_sum_to_one(evidence, situation):
    (cell,) = evidence.believe(situation(observations=[spots("deuce", 4, 1, 2)])).spots
    assert sum(cell.shares().values()) == pytest.approx(1)


# Earlier matches ------------------------------------------------------------------------------------------------------


def seen_before(*, day: int = 1, weight: float = 1.0, hits: float = 14.0, of: float = 20.0) -> Earlier:
    counted = Observation(0, "rally.backhand_errors", Way.COUNT, count=hits, of=of)
    return Earlier(date(2026, 5, day), "clay", weight, (counted,))


def test_an_earlier_match_moves_a_belief_less_than_this_one_and_says_its_day(evidence, situation):
    today = situation(observations=[{"what": "rally.backhand_errors", "count": 14, "of": 20}])
    before = replace(situation(), earlier=(seen_before(),))
    now, then = (belief(evidence, one, "weak_high_backhand", Wing.BACKHAND) for one in (today, before))
    assert then.prior < then.probability < now.probability
    assert then.contributions[0].text == "2026-05-01: backhand errors: 14 of 20"
    assert then.contributions[0].observations == ()


def test_more_earlier_matches_say_more_but_never_as_much_as_this_one(evidence, situation):
    chances = [
        belief(
            evidence,
            replace(situation(), earlier=tuple(seen_before(day=d) for d in range(1, n + 1))),
            "weak_high_backhand",
            Wing.BACKHAND,
        ).probability
        for n in (0, 1, 2, 8)
    ]
    assert chances == sorted(chances)
    today = situation(observations=[{"what": "rally.backhand_errors", "count": 112, "of": 160}])
    assert chances[-1] < belief(evidence, today, "weak_high_backhand", Wing.BACKHAND).probability


def test_an_older_match_says_less(evidence, situation):
    fresh, old = (
        belief(evidence, replace(situation(), earlier=(seen_before(weight=w),)), "weak_high_backhand", Wing.BACKHAND)
        for w in (1.0, 0.3)
    )
    assert old.prior < old.probability < fresh.probability


# One chance -----------------------------------------------------------------------------------------------------------


def test_no_first_chance_moves_a_belief_far(rulebook):
    moves = list(largest_moves(rulebook))
    assert len(moves) > 50
    worst = max(moves, key=lambda move: move.change)
    assert 0 < worst.change <= rulebook.defaults["evidence"]["one_chance_move"], worst
