"""Many views of one thing are not many things: families, graded entries, pooling, wings, and choices at a cost."""

from collections.abc import Callable
from math import log
from typing import Any

import pytest

from tacticapi.domain.belief import Belief
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Phase, Wing
from tacticapi.evidence.beliefs import EvidenceModel, exclusive, family_weighted
from tacticapi.evidence.likelihood import Finding

Write = Callable[..., Situation]


def belief(evidence: EvidenceModel, asked: Situation, trait: str, wing: Wing | None = None) -> Belief:
    return next(b for b in evidence.believe(asked).all if (b.trait, b.wing) == (trait, wing))


def finding(evidence: EvidenceModel, log_odds: float, phase: Phase = Phase.GAMES, text: str = "seen") -> Finding:
    _, term = evidence.moved_by("rally.ran_round_backhand")[0]
    return Finding(term, phase, log_odds, 4, (0,), text)


def test_the_strongest_of_a_family_counts_in_full_and_the_others_half(evidence: EvidenceModel) -> None:
    parts = [finding(evidence, x, text=str(x)) for x in (0.4, 1.0, 0.2)]
    assert [c.log_odds for c in family_weighted(parts, 0.5)] == [1.0, 0.2, 0.1]


def test_evidence_for_and_against_and_of_each_phase_are_families_of_their_own(evidence: EvidenceModel) -> None:
    parts = [
        finding(evidence, 1.0),
        finding(evidence, -0.8),
        finding(evidence, 0.6, Phase.WARM_UP),
        finding(evidence, -0.4, Phase.WARM_UP, "other"),
        finding(evidence, -0.2, Phase.WARM_UP),
    ]
    assert [c.log_odds for c in family_weighted(parts, 0.5)] == [1.0, -0.8, 0.6, -0.4, -0.1]


def test_two_signs_of_one_weakness_weigh_less_than_their_sum(evidence: EvidenceModel, situation: Write) -> None:
    high = {"what": "rally.against_high_ball", "wing": "backhand", "count": 2, "of": 10}
    kick = {"what": "return.against_kick", "count": 2, "of": 10}
    alone = [belief(evidence, situation(observations=[o]), "weak_high_backhand", Wing.BACKHAND) for o in (high, kick)]
    both = belief(evidence, situation(observations=[high, kick]), "weak_high_backhand", Wing.BACKHAND)
    weaker, stronger = sorted(one.contributions[0].log_odds for one in alone)
    assert sum(c.log_odds for c in both.contributions) == pytest.approx(stronger + 0.8 * weaker)
    assert alone[0].probability < both.probability


def test_counts_of_one_kind_are_pooled_and_enter_once(evidence: EvidenceModel, situation: Write) -> None:
    parts = [{"what": "rally.ran_round_backhand", "count": n, "of": of} for n, of in ((2, 3), (1, 2), (3, 3))]
    whole = [{"what": "rally.ran_round_backhand", "count": 6, "of": 8}]
    split, pooled = (
        belief(evidence, situation(observations=seen), "hides_backhand", Wing.BACKHAND) for seen in (parts, whole)
    )
    assert split.probability == pytest.approx(pooled.probability, abs=1e-12)
    assert len(split.contributions) == 1
    assert split.contributions[0].observations == (0, 1, 2)
    assert split.contributions[0].text == pooled.contributions[0].text


def test_first_and_second_serve_are_never_pooled(evidence: EvidenceModel, situation: Write) -> None:
    """A drive against the second serve speaks of attacking it, against the first it does not."""
    drives = {"what": "return.return_swing", "counts": {"block": 1, "chip": 0, "drive": 9}}
    first, second = (
        belief(evidence, situation(observations=[{**drives, "serve": serve}]), "attacks_second_serve")
        for serve in ("first", "second")
    )
    assert first.probability == first.prior
    assert second.probability > second.prior


@pytest.mark.parametrize("many", [5, 10, 40])
def test_of_ratings_of_one_kind_at_most_four_count(evidence: EvidenceModel, situation: Write, many: int) -> None:
    def after(entries: int) -> float:
        seen = [{"what": "movement.recovery", "rating": 1}] * entries
        return belief(evidence, situation(observations=seen), "slow_recovery").probability

    assert after(1) < after(4)
    assert after(many) == pytest.approx(after(4), abs=1e-12)


def test_of_more_than_four_mixed_ratings_the_average_counts(evidence: EvidenceModel, situation: Write) -> None:
    seen = [{"what": "movement.recovery", "rating": rating} for rating in (0, 0, 0, 0, 4, 4, 4, 4)]
    told = belief(evidence, situation(observations=seen), "slow_recovery")
    table = evidence.moved_by("movement.recovery")[0][1].table
    half = 2 * (log(table["0"][0] / table["0"][1]) + log(table["4"][0] / table["4"][1]))
    assert sum(c.log_odds for c in told.contributions) == pytest.approx(half)


def test_a_choice_made_at_a_cost_says_more_than_a_ball_to_order(evidence: EvidenceModel, situation: Write) -> None:
    def moved(seen: dict[str, Any]) -> float:
        asked = situation(moment="after-warm-up", observations=[seen])
        return belief(evidence, asked, "hides_backhand", Wing.BACKHAND).contributions[0].log_odds

    ran_round = moved({"what": "warmup.ran_round_backhand", "count": 5, "of": 6})
    missed = moved({"what": "warmup.backhand_made", "count": 1, "of": 6})
    assert ran_round > 1.5 * missed > 0


def test_how_often_a_wing_was_fed_says_nothing_about_it(evidence: EvidenceModel, situation: Write) -> None:
    fed = [{"what": "warmup.fed_backhand", "amount": 25}, {"what": "warmup.fed_forehand", "amount": 2}]
    told = evidence.believe(situation(moment="after-warm-up", observations=fed))
    assert told.all == evidence.believe(situation(moment="after-warm-up")).all


def test_a_weakness_of_one_wing_leaves_the_other_alone(evidence: EvidenceModel, situation: Write) -> None:
    low = {"what": "rally.against_low_ball", "count": 1, "of": 9}
    asked = situation(observations=[{**low, "wing": "forehand"}])
    assert belief(evidence, asked, "weak_low_ball", Wing.FOREHAND).probability > 0.60
    assert belief(evidence, asked, "weak_low_ball", Wing.BACKHAND).probability == 0.38
    no_wing = situation(observations=[low])
    assert belief(evidence, no_wing, "weak_low_ball", Wing.FOREHAND).probability == 0.38


def test_returns_that_miss_on_one_wing_and_land_on_the_other_point_at_the_first(
    evidence: EvidenceModel, situation: Write
) -> None:
    seen = [{"what": "return.backhand_in", "count": 3, "of": 12}, {"what": "return.forehand_in", "count": 11, "of": 12}]
    wings = [belief(evidence, situation(observations=seen), "weak_return_wing", wing) for wing in Wing]
    assert wings[0].probability < 0.35
    assert wings[1].probability > 0.75


def test_what_lifts_one_of_two_exclusive_traits_takes_from_the_other(evidence: EvidenceModel, situation: Write) -> None:
    seen = [{"what": "rally.ran_round_backhand", "count": 9, "of": 10}]
    asked = situation(observations=seen)
    hides = belief(evidence, asked, "hides_backhand", Wing.BACKHAND)
    better = belief(evidence, asked, "backhand_is_better", Wing.BACKHAND)
    assert hides.probability > hides.prior
    assert better.probability < better.prior


def test_exclusive_traits_share_out_by_prior_times_odds() -> None:
    odds = [(0.0, log(4.0)), (0.0, 0.0), (0.0, log(0.5))]
    shared = exclusive([0.3, 0.2, 0.1], odds, 0.8)
    total = 0.3 * 4 + 0.2 + 0.1 * 0.5 + 0.4
    assert shared == pytest.approx([1.2 / total, 0.2 / total, 0.05 / total])


def test_games_move_on_from_the_ceiling_of_the_warm_up() -> None:
    assert exclusive([0.5], [(9.0, 0.0)], 0.8) == pytest.approx([0.8])
    assert exclusive([0.5], [(9.0, log(2.0))], 0.8) == pytest.approx([8 / 9])
    assert exclusive([0.5], [(9.0, log(0.25))], 0.8) == pytest.approx([0.5])


def test_one_reason_is_told_in_counts_with_the_places_it_rests_on(evidence: EvidenceModel, situation: Write) -> None:
    seen = [
        {"what": "warmup.energy", "value": "normal"},
        {"what": "rally.against_low_ball", "wing": "backhand", "count": 1, "of": 6},
    ]
    told = belief(evidence, situation(observations=seen), "weak_low_ball", Wing.BACKHAND)
    assert [(c.what, c.observations, c.chances) for c in told.contributions] == [("rally.against_low_ball", (1,), 6)]
    assert told.contributions[0].text.endswith("(backhand): 1 of 6")
    assert told.chances == 6
