"""Graded evidence: two columns that sum to one, with the ratios that the word asks for."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tacticapi.knowledge.terms import amount_bands, base_shares, rating_table, seen_table, value_table

from tacticapi.knowledge import load

PAIRS = st.tuples(st.floats(0.05, 0.45), st.floats(0.05, 0.45))


def columns(table: dict[str, tuple[float, float]]) -> list[float]:
    return [math.fsum(column) for column in zip(*table.values(), strict=True)]


@given(
    ratios=st.tuples(st.floats(2, 6), st.floats(1.2, 2), st.just(1.0), st.floats(0.6, 0.95), st.floats(0.1, 0.6)),
    middle=st.floats(0.2, 0.6),
    side=st.sampled_from(["low", "high"]),
)
def test_a_rating_table_keeps_the_ratios_and_both_columns_sum_to_one(
    ratios: tuple[float, ...], middle: float, side: str
) -> None:
    table = rating_table(ratios, middle, side)
    assert columns(table) == pytest.approx([1.0, 1.0])
    levels = "01234" if side == "low" else "43210"
    assert [table[level][0] / table[level][1] for level in levels] == pytest.approx(list(ratios))
    assert table["2"][1] == middle
    assert table["1"][1] == pytest.approx(2 * table["0"][1])
    assert table["3"][1] == pytest.approx(2 * table["4"][1])


def test_ratios_all_above_one_cannot_make_a_table() -> None:
    with pytest.raises(ValueError, match="sum to 1"):
        rating_table((5, 4, 3, 2, 1.5), 0.4, "low")


@given(pair=PAIRS, split=st.lists(st.sampled_from(["for", "against", "rest"]), min_size=2, max_size=7))
def test_a_value_table_sums_to_one_and_leaves_the_rest_neutral_between_both_sides(
    pair: tuple[float, float], split: list[str]
) -> None:
    options = [f"o{n}" for n in range(len(split))]
    sides = {side: [o for o, where in zip(options, split, strict=True) if where == side] for side in set(split)}
    if len(sides) < 2:
        return
    table = value_table(options, sides.get("for", []), sides.get("against", []), pair)
    assert list(table) == options
    assert columns(table) == pytest.approx([1.0, 1.0])
    for option in sides.get("for", []):
        assert table[option][0] / table[option][1] == pytest.approx(pair[0] / pair[1])
    for option in sides.get("against", []):
        assert table[option][0] / table[option][1] == pytest.approx(pair[1] / pair[0])
    if len(sides) == 3:
        assert all(table[option][0] == pytest.approx(table[option][1]) for option in sides["rest"])


def test_seeing_a_sign_against_mirrors_seeing_it_for() -> None:
    assert seen_table((0.5, 0.1), "for") == {"seen": (0.5, 0.1), "not-seen": (0.5, 0.9)}
    assert seen_table((0.5, 0.1), "against") == {"seen": (0.1, 0.5), "not-seen": (0.9, 0.5)}


def test_bands_of_an_amount_include_their_bounds() -> None:
    bands = amount_bands({"for": {"at_most": 22}, "against": {"at_least": 28}})
    told = {x: next(name for name, low, high in bands if low <= x < high) for x in (-5, 22, 22.01, 27.99, 28, 900)}
    assert list(told.values()) == ["for", "for", "rest", "rest", "against", "against"]
    assert [name for name, _, _ in amount_bands({"for": {"at_least": 3}})] == ["for", "rest"]


def test_options_without_known_shares_are_all_alike() -> None:
    base = {"wide": 0.4, "body": 0.2, "T": 0.4}
    assert base_shares(("T", "body", "wide"), base) == pytest.approx((0.4, 0.2, 0.4))
    assert base_shares(("T", "wide"), base) == pytest.approx((0.5, 0.5))
    assert base_shares(("cross", "line"), base) == (0.5, 0.5)


def test_every_table_of_our_own_rules_sums_to_one() -> None:
    tables = [term.table for trait in load().traits.values() for term in trait.terms if term.table]
    assert tables
    for table in tables:
        assert columns(dict(table)) == pytest.approx([1.0, 1.0], abs=1e-9)
