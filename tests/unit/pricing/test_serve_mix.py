"""The serve mix from counts, whole serves out of ten and their order, and both sides of the court together."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tacticapi.pricing.serve_mix import (
    CourtServes,
    MixModel,
    PointBeliefs,
    Serves,
    SpotCounts,
    best_mix,
    court_mix,
    next_ten,
    solve,
    whole_serves,
)

SPOTS = ("wide", "body", "T")
MODEL = MixModel(
    prior_share=0.58, prior_serves=8, lean_effect=0.2, effect_serves=40, lean_serves=6, stays=0.5, least_share=0.1
)


def counted(times=1):
    """A first set's serves, all counts multiplied."""
    serves = {"wide": Serves(8 * times, 11 * times), "body": Serves(3 * times, 7 * times)}
    return SpotCounts(SPOTS, {**serves, "T": Serves(6 * times, 10 * times)})


LEFT_RIGHT = ("left", "right")
TRUE = {"left": {"left": 0.58, "right": 0.79}, "right": {"left": 0.73, "right": 0.49}}
THEORY = replace(MODEL, stays=0, least_share=0)


def noted(each):
    """So many serves noted with every leaning, won exactly as often as the true chances say."""
    cells = {spot: {lean: Serves(p * each, each) for lean, p in row.items()} for spot, row in TRUE.items()}
    return SpotCounts(LEFT_RIGHT, by_lean=cells)


def widths(advice):
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
def test_shares_sum_to_one_keep_every_spot_alive_and_lie_within_their_range(seen):
    advice = best_mix(seen, MODEL)
    assert sum(advice.mix.values()) == pytest.approx(1)
    for spot in advice.spots:
        assert MODEL.least_share - 1e-9 <= spot.low <= spot.share <= spot.high <= 1
        assert spot.concedes >= 0
    assert min(spot.concedes for spot in advice.spots) == 0
    assert advice.floor <= advice.value + 1e-9
    assert advice.value == pytest.approx(sum(spot.share * spot.wins for spot in advice.spots))


def test_without_counts_the_mix_is_even_and_wide_open():
    advice = best_mix(SpotCounts(SPOTS), MODEL)
    assert list(advice.mix.values()) == pytest.approx([1 / 3] * 3)
    assert advice.value == pytest.approx(MODEL.prior_share)
    assert advice.past_gives is None
    assert widths(advice)[0] > 0.5


def test_with_many_noted_serves_the_mix_is_that_of_the_true_game_and_ranges_shrink():
    advice = best_mix(noted(100_000), THEORY)
    assert advice.mix == pytest.approx({"left": 8 / 15, "right": 7 / 15}, abs=1e-3)
    assert (advice.value, advice.floor) == pytest.approx((0.65, 0.65), abs=1e-3)
    few, more, many = (widths(best_mix(noted(each), THEORY)) for each in (20, 400, 100_000))
    assert few[0] > more[0] > many[0] < 0.02
    assert few[1] > more[1] > many[1] < 0.01
    assert widths(best_mix(counted(20), MODEL))[1] < widths(best_mix(counted(), MODEL))[1]


def test_the_mix_is_the_best_against_the_mean_chances():
    mean = PointBeliefs(counted(), THEORY).mean()
    advice = best_mix(counted(), THEORY)
    assert advice.value == pytest.approx(solve(mean.chances).value)
    assert advice.floor == pytest.approx(advice.value)


def test_no_other_mix_does_better_on_average_over_the_draws():
    beliefs = PointBeliefs(counted(), MODEL)
    drawn = beliefs.played(beliefs.draws(4000, np.random.default_rng(3))).mean(axis=0)
    best = np.array(solve(beliefs.played(beliefs.mean())).mix_row)
    for other in np.random.default_rng(4).dirichlet([1, 1, 1], 200):
        assert (other @ drawn).min() <= (best @ drawn).min() + 0.005


def test_draws_average_to_the_mean_and_shares_won_to_the_mean_over_the_leaning_shown():
    seen = replace(counted(), leans={"wide": 7, "T": 3}, by_lean={"wide": {"wide": Serves(4, 6)}})
    beliefs = PointBeliefs(seen, MODEL)
    drawn, mean = beliefs.draws(20_000, np.random.default_rng(5)), beliefs.mean()
    assert drawn.chances.mean(axis=0) == pytest.approx(mean.chances, abs=0.004)
    assert drawn.leaning.mean(axis=0) == pytest.approx(mean.leaning, abs=0.004)
    shown = PointBeliefs(SpotCounts(SPOTS, {"T": Serves(900, 1000)}, {"T": 3, "wide": 1}), MODEL).mean()
    assert (shown.chances @ shown.leaning)[2] == pytest.approx(0.9, abs=0.01)


def test_a_receiver_who_camps_on_one_spot_is_served_elsewhere_and_always_one_spot_gives_points_away():
    camping = SpotCounts(SPOTS, leans={"T": 60})
    advice = best_mix(camping, replace(MODEL, stays=1))
    assert advice.trust == pytest.approx(60 / 66)
    assert advice.mix["T"] == pytest.approx(MODEL.least_share)
    assert best_mix(camping, replace(MODEL, stays=0)).trust == 0
    assert best_mix(SpotCounts(SPOTS, {"T": Serves(6, 10)}), MODEL).past_gives > 0.05
    assert best_mix(noted(10), THEORY).past_gives == pytest.approx(0, abs=0.01)


parts_of = st.lists(st.integers(0, 50), min_size=2, max_size=4).filter(any)
mixes = parts_of.map(lambda parts: {f"spot {place}": part / sum(parts) for place, part in enumerate(parts)})


@given(mixes, st.text(max_size=8))
def test_the_order_uses_each_spot_exactly_as_often_as_the_mix_says(mix, seed):
    whole, order = whole_serves(mix), next_ten(mix, seed)
    assert len(order) == 10
    assert Counter(order) == Counter({spot: serves for spot, serves in whole.items() if serves})
    assert all(abs(whole[spot] - 10 * share) < 1 for spot, share in mix.items())


@pytest.mark.parametrize(
    ("shares", "serves"),
    [((0.46, 0.18, 0.36), (4, 2, 4)), ((0.45, 0.1, 0.45), (5, 1, 4)), ((1 / 3, 1 / 3, 1 / 3), (4, 3, 3))],
)
def test_largest_remainders_round_up_and_ties_go_to_the_earlier_spot(shares, serves):
    assert whole_serves(dict(zip(SPOTS, shares, strict=True))) == dict(zip(SPOTS, serves, strict=True))


MIX = {"wide": 0.5, "body": 0.2, "T": 0.3}


def test_a_seed_fixes_the_order_and_none_leaves_it_open():
    assert next_ten(MIX, "7") == next_ten(MIX, "7")
    for seeds in (map(str, range(50)), [None] * 50):
        assert len({tuple(next_ten(MIX, seed)) for seed in seeds}) > 40


def test_every_place_in_the_order_gets_its_fair_share_of_spots():
    orders = 2000
    for place in zip(*(next_ten(MIX, str(seed)) for seed in range(orders)), strict=True):
        assert {spot: place.count(spot) / orders for spot in MIX} == pytest.approx(MIX, abs=0.05)


TURNS, SCORES = ("wide", "T") * 7, tuple(None if place % 5 else "game point" for place in range(14))
BOTH = (
    CourtServes("deuce", replace(counted(), leans={"wide": 7, "T": 3}), TURNS, SCORES),
    CourtServes("ad", SpotCounts(SPOTS)),
)


def test_notes_say_what_the_mix_rests_on():
    deuce, ad = (court_mix(court, MODEL, seed=7) for court in BOTH)
    assert any(note.startswith("28 serves counted") and "still open" in note for note in deuce.notes)
    assert any(note.startswith("10 leans counted") for note in deuce.notes)
    assert "body: kept in the mix so that the receiver has to cover every spot." in deuce.notes
    assert any("too often" in note for note in deuce.notes)
    assert ad.notes[0] == "No serves counted: the mix rests on model defaults alone."
    assert any("No sequence" in note for note in ad.notes)
    many = SpotCounts(SPOTS, {"wide": Serves(900, 1000), "body": Serves(100, 1000), "T": Serves(500, 1000)})
    one = court_mix(CourtServes("deuce", replace(many, leans={"wide": 0, "T": 1000})), MODEL)
    assert not any("still open" in note or "No serves counted" in note for note in one.notes)


@pytest.mark.parametrize(
    ("spots", "words"),
    [
        (["T", "wide"], "cannot show a pattern of any kind"),
        (["T"] * 12, "T came more often than the mix asks for"),
        (["wide"] * 7 + ["T"] * 7, "change spots too seldom"),
        (["wide", "T", "T", "body", "wide"], "does not mean that there is none"),
        (["wide", "T", "T", "body", "wide"], "It takes 8 serves to show"),
    ],
)
def test_notes_say_what_a_sequence_shows(spots, words):
    one = court_mix(CourtServes("ad", SpotCounts(SPOTS), tuple(spots)), MODEL)
    assert any(words in note for note in one.notes)


def test_the_seed_fixes_the_order_but_never_the_mix():
    same, again, other = ([court_mix(court, MODEL, seed) for court in BOTH] for seed in (1, 1, 2))
    assert same == again
    assert [one.advice for one in same] == [one.advice for one in other]
    assert [one.order for one in same] != [one.order for one in other]
    twins = [court_mix(replace(BOTH[1], court=court), MODEL, 1) for court in ("deuce", "ad")]
    assert twins[0].order != twins[1].order
    one = court_mix(replace(BOTH[0], counts=counted(50)), replace(MODEL, least_share=0.0), 1)
    assert one.tenths["body"] == 0  # a spot left out of the mix does not break the verdict
    assert one.verdict is not None
