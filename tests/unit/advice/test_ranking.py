"""In which order tactics are shown, how many, and what they are worth together."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.advice.selection import Value, capped, in_families, limited, ranked
from tacticapi.domain.firing import Priced
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Show

Price = Callable[..., Priced]


def names(items: list[Priced]) -> list[str]:
    return [item.firing.tactic.id for item in items]


def worth(**match: float) -> dict[str, Value]:
    return {name: Value(value, value / 2) for name, value in match.items()}


def test_law_and_safety_stand_before_gain_and_gain_before_reminders(priced: Price) -> None:
    items = [priced("a", show=Show.REMINDER), priced("b"), priced("c", show=Show.FIRST, authority=2)]
    assert names(ranked(items, worth(a=0.9, b=0.5, c=0.0))) == ["c", "b", "a"]


def test_among_those_shown_first_safety_stands_before_law(priced: Price) -> None:
    items = [priced("a", show=Show.FIRST, authority=2), priced("b", show=Show.FIRST, authority=1)]
    assert names(ranked(items, worth(a=0.9, b=0.0))) == ["b", "a"]


def test_authority_is_no_ranking_key_among_gains(priced: Price) -> None:
    items = [priced("a", authority=1), priced("b", authority=8)]
    assert names(ranked(items, worth(a=0.01, b=0.02))) == ["b", "a"]


def test_equal_match_gains_rank_by_points_and_then_by_id(priced: Price) -> None:
    items = [priced(name) for name in "dcba"]
    values = {"a": Value(0.01, 0.1), "b": Value(0.01, 0.1), "c": Value(0.01, 0.2), "d": Value(0.0, 0.9)}
    assert names(ranked(items, values)) == ["c", "a", "b", "d"]


def test_noise_in_the_seventh_digit_never_ranks(priced: Price) -> None:
    items = [priced("b"), priced("a")]
    values = {"a": Value(0.0100000, 0.1), "b": Value(0.0100004, 0.1)}
    assert names(ranked(items, values)) == ["a", "b"]


def test_of_a_family_the_best_counts_in_full_and_the_others_half(priced: Price) -> None:
    items = [priced("a", family="f"), priced("b", family="f"), priced("c", family="f"), priced("d")]
    told = in_families(items, worth(a=0.02, b=0.03, c=0.01, d=0.004), 0.5)
    assert {name: value.match for name, value in told.items()} == {"a": 0.01, "b": 0.03, "c": 0.005, "d": 0.004}
    assert told["a"].point == pytest.approx(0.005)


def test_at_most_so_many_lines_are_shown(priced: Price, rulebook: Rulebook) -> None:
    items = [priced(name) for name in "abcd"]
    assert names(limited(items, 2, rulebook.categories, None)) == ["a", "b"]
    assert names(limited(items, 9, rulebook.categories, None)) == ["a", "b", "c", "d"]


def test_a_tactical_limit_lets_care_and_law_through(priced: Price, rulebook: Rulebook) -> None:
    care = priced("d", category="physical", show=Show.REMINDER)
    law = priced("e", category="law-and-conduct", show=Show.FIRST)
    items = [priced("a"), priced("b"), priced("c"), care, law]
    assert names(limited(items, 5, rulebook.categories, 2)) == ["a", "b", "d", "e"]


gains = st.lists(st.tuples(st.floats(-0.02, 0.06), st.floats(-0.02, 0.06)), min_size=1, max_size=6)


@given(steps=gains, weights=st.lists(st.sampled_from((0.5, 1.0)), min_size=6, max_size=6))
def test_all_that_is_shown_gains_at_most_three_points_in_a_hundred_on_serve_and_on_return(
    priced: Price, steps: list[tuple[float, float]], weights: list[float]
) -> None:
    items = [priced(str(place), serve, return_) for place, (serve, return_) in enumerate(steps)]
    told = capped(items, {str(place): weight for place, weight in enumerate(weights)}, 0.03)
    assert names(told) == names(items)
    for side in ("serve", "return_"):
        assert sum(max(0.0, getattr(item, side)) for item in told) <= 0.03 + 1e-12
    assert all(item.point == pytest.approx((item.serve + item.return_) / 2) for item in told)


def test_gains_below_the_ceiling_are_left_as_they_are(priced: Price) -> None:
    told = capped([priced("a", 0.01, 0.0), priced("b", 0.01, 0.02)], {"a": 1.0, "b": 0.5}, 0.03)
    assert [(item.serve, item.return_) for item in told] == [(0.01, 0.0), (0.005, 0.01)]
