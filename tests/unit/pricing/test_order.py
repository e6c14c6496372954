"""Whole serves out of ten and their order."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.pricing.serve_mix import next_ten, whole_serves

mixes = (
    st.lists(st.integers(0, 50), min_size=2, max_size=4)
    .filter(any)
    .map(lambda parts: {f"spot {place}": part / sum(parts) for place, part in enumerate(parts)})
)


@given(mixes, st.integers(0, 30), st.integers())
def test_the_order_uses_each_spot_exactly_as_often_as_the_mix_says(mix: dict[str, float], n: int, seed: int) -> None:
    whole, order = whole_serves(mix, n), next_ten(mix, seed, n)
    assert len(order) == n
    assert Counter(order) == Counter({spot: serves for spot, serves in whole.items() if serves})
    assert all(abs(whole[spot] - n * share) < 1 for spot, share in mix.items())


def test_largest_remainders_round_up_and_ties_go_to_the_earlier_spot() -> None:
    assert whole_serves({"wide": 0.46, "body": 0.18, "T": 0.36}) == {"wide": 4, "body": 2, "T": 4}
    assert whole_serves({"wide": 0.45, "body": 0.1, "T": 0.45}) == {"wide": 5, "body": 1, "T": 4}
    assert whole_serves({"wide": 1 / 3, "body": 1 / 3, "T": 1 / 3}) == {"wide": 4, "body": 3, "T": 3}


def test_a_seed_fixes_the_order_and_none_leaves_it_open() -> None:
    mix = {"wide": 0.5, "body": 0.2, "T": 0.3}
    assert next_ten(mix, 7) == next_ten(mix, 7)
    assert len({tuple(next_ten(mix, seed)) for seed in range(50)}) > 40
    assert len({tuple(next_ten(mix)) for _ in range(50)}) > 40


def test_every_place_in_the_order_gets_its_fair_share_of_spots() -> None:
    mix, orders = {"wide": 0.5, "body": 0.2, "T": 0.3}, 2000
    places = [Counter(place) for place in zip(*(next_ten(mix, seed) for seed in range(orders)), strict=True)]
    for place in places:
        assert {spot: place[spot] / orders for spot in mix} == pytest.approx(mix, abs=0.05)


@pytest.mark.parametrize("mix", [{}, {"T": 0.9}, {"T": 1.2, "wide": -0.2}])
def test_what_is_no_mix_is_refused(mix: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="expected shares"):
        next_ten(mix, 1)
