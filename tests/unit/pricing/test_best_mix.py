"""The mix after counts, and how sure it is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tacticapi.pricing.serve_mix import MixAdvice, PointBeliefs, Serves, SpotCounts, best_mix
from tacticapi.pricing.zero_sum import solve

from .models import MODEL, SPOTS, counted

LEFT_RIGHT = ("left", "right")
TRUE = {"left": {"left": 0.58, "right": 0.79}, "right": {"left": 0.73, "right": 0.49}}
THEORY = replace(MODEL, stays=0, least_share=0)


def noted(each: int) -> SpotCounts:
    """So many serves noted with every leaning, won exactly as often as the true chances say."""
    cells = {spot: {lean: Serves(p * each, each) for lean, p in row.items()} for spot, row in TRUE.items()}
    return SpotCounts(LEFT_RIGHT, by_lean=cells)


def widths(advice: MixAdvice) -> tuple[float, float]:
    return max(spot.high - spot.low for spot in advice.spots), advice.value_high - advice.value_low


counts = st.builds(
    lambda wins, losses, leans: SpotCounts(
        SPOTS,
        {spot: Serves(won, won + lost) for spot, won, lost in zip(SPOTS, wins, losses, strict=True)},
        dict(zip(SPOTS, leans, strict=True)),
    ),
    *[st.tuples(*[st.integers(0, 40)] * 3)] * 3,
)


@given(counts)
@settings(max_examples=40, deadline=None)
def test_shares_sum_to_one_keep_every_spot_alive_and_lie_within_their_range(seen: SpotCounts) -> None:
    advice = best_mix(seen, MODEL, draws=100)
    assert sum(advice.mix.values()) == pytest.approx(1)
    for spot in advice.spots:
        assert MODEL.least_share - 1e-9 <= spot.low <= spot.share <= spot.high <= 1
        assert spot.concedes >= 0
    assert min(spot.concedes for spot in advice.spots) == 0
    assert advice.floor <= advice.value + 1e-9
    assert advice.value == pytest.approx(sum(spot.share * spot.wins for spot in advice.spots))


def test_without_counts_the_mix_is_even_and_wide_open() -> None:
    advice = best_mix(SpotCounts(SPOTS), MODEL)
    assert list(advice.mix.values()) == pytest.approx([1 / 3] * 3)
    assert advice.value == pytest.approx(MODEL.prior_share)
    assert advice.past_gives is None
    assert widths(advice)[0] > 0.5


def test_with_many_noted_serves_the_mix_is_that_of_the_true_game() -> None:
    advice = best_mix(noted(100_000), THEORY)
    assert advice.mix == pytest.approx({"left": 8 / 15, "right": 7 / 15}, abs=1e-3)
    assert (advice.value, advice.floor) == pytest.approx((0.65, 0.65), abs=1e-3)
    share, value = widths(advice)
    assert share < 0.02
    assert value < 0.01


def test_ranges_shrink_with_the_counts() -> None:
    few, more, many = (widths(best_mix(noted(each), THEORY)) for each in (20, 400, 8000))
    assert few[0] > more[0] > many[0]
    assert few[1] > more[1] > many[1]
    assert widths(best_mix(counted(20), MODEL))[1] < widths(best_mix(counted(), MODEL))[1]


def test_the_mix_is_the_best_against_the_mean_chances() -> None:
    mean = PointBeliefs(counted(), THEORY).mean()
    advice = best_mix(counted(), THEORY)
    assert advice.value == pytest.approx(solve(mean.chances).value)
    assert advice.floor == pytest.approx(advice.value)


def test_no_other_mix_does_better_on_average_over_the_draws() -> None:
    beliefs = PointBeliefs(counted(), MODEL)
    drawn = beliefs.played(beliefs.draws(4000, np.random.default_rng(3))).mean(axis=0)
    best = np.array(solve(beliefs.played(beliefs.mean())).mix_row)
    for other in np.random.default_rng(4).dirichlet([1, 1, 1], 200):
        assert (other @ drawn).min() <= (best @ drawn).min() + 0.005


def test_draws_average_to_the_mean() -> None:
    seen = replace(counted(), leans={"wide": 7, "T": 3}, by_lean={"wide": {"wide": Serves(4, 6)}})
    beliefs = PointBeliefs(seen, MODEL)
    drawn, mean = beliefs.draws(20_000, np.random.default_rng(5)), beliefs.mean()
    assert drawn.chances.mean(axis=0) == pytest.approx(mean.chances, abs=0.004)
    assert drawn.leaning.mean(axis=0) == pytest.approx(mean.leaning, abs=0.004)


def test_a_receiver_who_camps_on_one_spot_is_served_elsewhere() -> None:
    camping = SpotCounts(SPOTS, leans={"T": 60})
    advice = best_mix(camping, replace(MODEL, stays=1))
    assert advice.trust == pytest.approx(60 / 66)
    assert advice.mix["T"] == pytest.approx(MODEL.least_share)
    assert best_mix(camping, replace(MODEL, stays=0)).trust == 0


def test_shares_won_against_the_leaning_shown_are_the_mean_over_that_leaning() -> None:
    seen = SpotCounts(SPOTS, {"T": Serves(900, 1000)}, {"T": 3, "wide": 1})
    mean = PointBeliefs(seen, MODEL).mean()
    assert (mean.chances @ mean.leaning)[2] == pytest.approx(0.9, abs=0.01)


def test_the_same_seed_gives_the_same_advice() -> None:
    assert best_mix(counted(), MODEL, seed=4) == best_mix(counted(), MODEL, seed=4)
    assert best_mix(counted(), MODEL, seed=4) != best_mix(counted(), MODEL, seed=5)


def test_serving_always_to_one_spot_gives_points_away() -> None:
    always = best_mix(SpotCounts(SPOTS, {"T": Serves(6, 10)}), MODEL)
    assert always.past_gives is not None
    assert always.past_gives > 0.05
    assert best_mix(noted(10), THEORY).past_gives == pytest.approx(0, abs=0.01)


def test_impossible_counts_and_models_are_refused() -> None:
    with pytest.raises(ValueError, match="expected 0 <= won <= of"):
        Serves(3, 2)
    with pytest.raises(ValueError, match="unknown spots"):
        SpotCounts(SPOTS, {"middle": Serves(1, 2)})
    with pytest.raises(ValueError, match="2 to 4 different names"):
        SpotCounts(("T", "T"))
    with pytest.raises(ValueError, match="counts of 0 or more"):
        SpotCounts(SPOTS, leans={"T": -1})
    with pytest.raises(ValueError, match="between 0 and 1"):
        replace(MODEL, lean_effect=1.5)
    with pytest.raises(ValueError, match="weights above 0"):
        replace(MODEL, prior_serves=0)
    with pytest.raises(ValueError, match="too large for 3 spots"):
        best_mix(counted(), replace(MODEL, least_share=0.4))
