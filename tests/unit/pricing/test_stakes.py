"""What hangs on each belief, and what a further look is worth."""

from dataclasses import replace
from itertools import product
from math import exp, log, prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.domain.reasoning import Play, Predictive
from tacticapi.domain.rules import Alternative, Effect, Tactic, Touches
from tacticapi.domain.situation import Show
from tacticapi.pricing.stakes import Gain, LookTable, PlayTable, Stakes

KEYS = (("rushed", None), ("weak_high", None), ("hides", None))


def tactic(on: Touches) -> Tactic:
    return Tactic(
        id="a",
        category="rally",
        title="a",
        say="a",
        why="a",
        when=(Alternative(()),),
        needs=(),
        unless=(),
        not_if="",
        stop_when="",
        show=Show.GAIN,
        risk="low",
        effect=Effect(on, 0.3, 0.03, 0.02),
        authority=4,
    )


def play(on: Touches, *places: int) -> Play:
    return Play(tactic(on), 0, tuple(KEYS[place] for place in places))


def look(trait: int, holds: tuple[float, ...], fails: tuple[float, ...]) -> Predictive:
    return Predictive("some.kind", *KEYS[trait], None, holds, fails)


@st.composite
def chances(draw: st.DrawFn) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Two distributions over the same outcomes."""
    outcomes = draw(st.integers(2, 6))
    columns = (draw(st.lists(st.floats(0.01, 1), min_size=outcomes, max_size=outcomes)) for _ in range(2))
    holds, fails = (tuple(x / sum(column) for x in column) for column in columns)
    return holds, fails


beliefs = st.lists(st.floats(0.01, 0.99), min_size=3, max_size=3)
gains = st.floats(-0.05, 0.05)
plays = st.lists(
    st.tuples(st.sampled_from(Touches), st.lists(st.integers(0, 2), min_size=1, max_size=2, unique=True), gains, gains),
    min_size=1,
    max_size=7,
)


def plan_worth(priced: list[tuple[Touches, list[int], float, float]], at: list[float]) -> float:
    """The worth of a plan, in so many words: the best play on serve, on return and in rallies, or none."""
    total = 0.0
    for part in Touches:
        worths = [0.0]
        for on, rests, holds, fails in priced:
            chance = prod(at[place] for place in rests)
            if on is part:
                worths.append(chance * holds + (1 - chance) * fails)
        total += max(worths)
    return total


def table(priced: list[tuple[Touches, list[int], float, float]]) -> tuple[PlayTable, list[Gain]]:
    laid_out = PlayTable([play(on, *rests) for on, rests, _, _ in priced], KEYS)
    return laid_out, [(place, p[2], p[3]) for place, p in enumerate(priced)]


def table_of(predictives: list[Predictive]) -> LookTable:
    return LookTable(predictives, [[predictive] for predictive in predictives], KEYS)


def best_first(predictives: list[Predictive], stakes: Stakes, least: float = 1e-5) -> list[tuple[float, int]]:
    """The best looks while none of them has been seen yet."""
    return list(table_of(predictives).best_first(stakes, (), (), lambda place: predictives[place], least))


@given(priced=plays, at=beliefs, predictive=chances(), trait=st.integers(0, 2))
def test_the_worth_of_a_look_is_the_plan_after_it_on_average_less_the_plan_now(
    priced: list[tuple[Touches, list[int], float, float]],
    at: list[float],
    predictive: tuple[tuple[float, ...], tuple[float, ...]],
    trait: int,
) -> None:
    laid_out, gains_of = table(priced)
    stakes = laid_out.at_stake(gains_of, at)
    expected = -plan_worth(priced, at)
    mean_belief = 0.0
    for if_holds, if_fails in zip(*predictive, strict=True):
        chance = at[trait] * if_holds + (1 - at[trait]) * if_fails
        after = list(at)
        after[trait] = at[trait] * if_holds / chance
        mean_belief += chance * after[trait]
        expected += chance * plan_worth(priced, after)
    worth = stakes.worth(trait, look(trait, *predictive))
    assert mean_belief == pytest.approx(at[trait])  # on average a look leaves the belief where it is
    assert worth == pytest.approx(expected, abs=1e-12)
    assert -1e-12 <= worth <= stakes.certainty.get(trait, 0.0) + 1e-12


@given(at=beliefs, predictive=chances(), trait=st.integers(0, 2))
def test_a_look_that_cannot_change_the_plan_is_worth_nothing(
    at: list[float], predictive: tuple[tuple[float, ...], tuple[float, ...]], trait: int
) -> None:
    always = [(Touches.SERVE, [trait], 0.03, 0.01), (Touches.BOTH, [trait], -0.01, -0.02)]
    laid_out, gains_of = table(always)
    stakes = laid_out.at_stake(gains_of, at)
    assert stakes.worth(trait, look(trait, *predictive)) == pytest.approx(0.0, abs=1e-12)
    assert best_first([look(trait, *predictive)], stakes) == []


def test_a_look_that_tells_nothing_is_worth_nothing_and_one_that_tells_all_is_worth_certainty() -> None:
    laid_out, gains_of = table([(Touches.RETURN, [1], 0.04, -0.03)])
    stakes = laid_out.at_stake(gains_of, [0.5, 0.4, 0.5])
    looks = [look(1, (0.5, 0.5), (0.5, 0.5)), look(1, (1.0, 0.0), (0.0, 1.0))]
    assert [stakes.worth(1, predictive) for predictive in looks] == pytest.approx([0.0, 0.4 * 0.04], abs=1e-12)
    assert stakes.certainty[1] == pytest.approx(0.4 * 0.04)
    assert best_first(looks, stakes, 0.001) == [(0.016, 1)]


def test_without_a_play_or_a_look_there_is_nothing_to_gain() -> None:
    laid_out, gains_of = table([(Touches.RETURN, [1], -1.0, -1.0)])
    stakes = laid_out.at_stake(gains_of, [0.5, 0.4, 0.5])
    assert not stakes.certainty
    assert best_first([], stakes) == []
    assert best_first([look(1, (1.0, 0.0), (0.0, 1.0))], stakes) == []


# Working out only the looks that may be among the best -----------------------------------------------------------


@given(priced=plays, at=beliefs, predictives=st.lists(st.tuples(st.integers(0, 2), chances()), min_size=1, max_size=9))
def test_the_best_looks_are_those_that_working_out_every_one_gives(
    priced: list[tuple[Touches, list[int], float, float]],
    at: list[float],
    predictives: list[tuple[int, tuple[tuple[float, ...], tuple[float, ...]]]],
) -> None:
    laid_out, gains_of = table(priced)
    stakes = laid_out.at_stake(gains_of, at)
    looks = [
        Predictive(f"kind.{n % 4}", *KEYS[trait], None, *outcomes) for n, (trait, outcomes) in enumerate(predictives)
    ]
    every = [(round(stakes.worth(predictives[n][0], predictive), 6), -n) for n, predictive in enumerate(looks)]
    expected: list[tuple[float, int]] = []
    told: set[object] = set()
    for worth, place in sorted(every, reverse=True):
        what, key = looks[-place].what, looks[-place].key
        if worth >= 1e-5 and what not in told and key not in told:
            told |= {what, key}
            expected.append((worth, -place))
    assert best_first(looks, stakes) == expected


@given(priced=plays, at=beliefs, predictive=chances(), trait=st.integers(0, 2))
def test_a_look_gains_no_more_than_what_it_tells_of_certainty(
    priced: list[tuple[Touches, list[int], float, float]],
    at: list[float],
    predictive: tuple[tuple[float, ...], tuple[float, ...]],
    trait: int,
) -> None:
    laid_out, gains_of = table(priced)
    stakes = laid_out.at_stake(gains_of, at)
    seen = look(trait, *predictive)
    if trait in stakes.certainty:
        needed = exp(min(50.0, max(-50.0, stakes.needed(trait))))
        assert 0.0 <= seen.tells(needed) <= seen.tells() + 1e-9 <= 1.0 + 2e-9
        assert stakes.worth(trait, seen) <= stakes.certainty[trait] * seen.tells(needed) + 1e-9
    else:
        assert stakes.worth(trait, seen) == 0.0


def test_one_look_a_kind_and_one_a_belief_and_none_at_what_is_known() -> None:
    laid_out, gains_of = table([(Touches.SERVE, [k], 0.04, -0.03 + 0.005 * k) for k in range(3)])
    stakes = laid_out.at_stake(gains_of, [0.5, 0.5, 0.5])
    sharp, dull = ((0.9, 0.1), (0.1, 0.9)), ((0.7, 0.3), (0.3, 0.7))
    told = (("a", 0, sharp), ("a", 1, sharp), ("b", 0, dull), ("b", 1, dull))
    looks = [Predictive(what, *KEYS[k], None, *shown) for what, k, shown in told]
    found = [looks[place] for _, place in best_first(looks, stakes)]
    assert sorted(predictive.what for predictive in found) == ["a", "b"]
    assert found[0].key != found[1].key
    found = table_of(looks).best_first(stakes, (), ("a",), lambda place: looks[place], 1e-5)
    assert {looks[place].what for _, place in found} == {"b"}
    assert list(table_of(looks).best_first(stakes, (), (), lambda place: None, 1e-5)) == []


def test_several_looks_at_once_are_each_worth_what_they_are_worth_alone() -> None:
    laid_out, gains_of = table(
        [(on, [k], 0.01 * (k + 1), -0.01) for on, k in product(Touches, range(3))]
        + [(Touches.BOTH, [0, 2], 0.09, -0.02)]
    )
    stakes = laid_out.at_stake(gains_of, [0.3, 0.5, 0.6])
    predictives = [look(k, (0.2 * k + 0.1, 0.9 - 0.2 * k), (0.6, 0.4)) for k in range(3)]
    alone = [stakes.worth(k, predictive) for k, predictive in enumerate(predictives)]
    looks = [replace(predictive, what=f"kind.{k}") for k, predictive in enumerate(predictives)]
    worths = [worth for worth, _ in best_first(looks, stakes, 1e-7)]
    assert worths == pytest.approx(sorted([worth for worth in alone if worth > 1e-7], reverse=True), abs=1e-6)


# Worked by hand -------------------------------------------------------------------------------------------------------


CERTAIN = ((1.0, 0.0), (0.0, 1.0))


def test_a_look_that_serves_two_parts_of_the_game_is_worth_both_together() -> None:
    """At even chances both plays gain nothing now; knowing brings half of 0.04 on serve and half of 0.02 on return."""
    laid_out, gains = table([(Touches.SERVE, [0], 0.04, -0.04), (Touches.RETURN, [0], 0.02, -0.02)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    assert stakes.certainty == pytest.approx({0: 0.03})
    assert stakes.worth(0, look(0, *CERTAIN)) == pytest.approx(0.03)
    assert stakes.worth(0, look(0, (0.8, 0.2), (0.2, 0.8))) == pytest.approx(0.8 * 0.03 - 0.2 * 0.03)


def test_a_play_on_two_traits_is_looked_at_through_either() -> None:
    """It pays 0.1 if both hold, with chance 0.5 * 0.4, and costs 0.02 otherwise: 0.004 now.

    Known to hold, the first leaves 0.4 * 0.1 - 0.6 * 0.02 = 0.028, else nothing: 0.5 * 0.028 - 0.004. The second
    leaves 0.5 * 0.1 - 0.5 * 0.02 = 0.04, else nothing: 0.4 * 0.04 - 0.004.
    """
    laid_out, gains = table([(Touches.BOTH, [0, 1], 0.1, -0.02)])
    stakes = laid_out.at_stake(gains, [0.5, 0.4, 0.9])
    assert stakes.certainty == pytest.approx({0: 0.01, 1: 0.012})
    assert best_first([look(0, *CERTAIN), look(1, *CERTAIN)], stakes) == [(0.012, 1)]


def test_the_best_other_play_is_what_a_trait_is_measured_against() -> None:
    """Two plays on serve: 0.5 * 0.05 - 0.5 * 0.01 = 0.02 by the first trait, a sure 0.015 by the second."""
    laid_out, gains = table([(Touches.SERVE, [0], 0.05, -0.01), (Touches.SERVE, [1], 0.015, 0.015)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    assert stakes.worth(0, look(0, *CERTAIN)) == pytest.approx(0.5 * 0.05 + 0.5 * 0.015 - 0.02)
    assert stakes.certainty == pytest.approx({0: 0.0125})


@pytest.mark.parametrize("gain", [(0.001, -0.08), (-0.08, 0.001)])
def test_a_look_is_found_however_much_it_takes_to_change_the_plan(gain: tuple[float, float]) -> None:
    """One play that costs eighty times what it brings asks for evidence of 80 to 1; a certain look is worth 0.0005."""
    laid_out, gains = table([(Touches.SERVE, [0], *gain)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    assert best_first([look(0, *CERTAIN)], stakes, 1e-4) == [(0.0005, 0)]
    assert best_first([look(0, (0.6, 0.4), (0.4, 0.6))], stakes, 1e-6) == []


def test_a_kind_seen_before_may_tell_more_or_less_than_at_first() -> None:
    laid_out, gains = table([(Touches.RETURN, [1], 0.04, -0.04)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    nothing, all_ = look(1, (0.5, 0.5), (0.5, 0.5)), look(1, *CERTAIN)
    for new, again, seen, found in (
        (nothing, all_, ("some.kind",), [(0.02, 0)]),
        (all_, nothing, ("some.kind",), []),
        (nothing, all_, ("other.kind",), []),
        (all_, nothing, (), [(0.02, 0)]),
    ):
        now: Predictive = again if "some.kind" in seen else new
        looks = LookTable([new], [[again]], KEYS)
        assert list(looks.best_first(stakes, seen, (), lambda place, now=now: now, 0.001)) == found


def test_of_looks_worth_the_same_the_first_is_told() -> None:
    laid_out, gains = table([(Touches.SERVE, [0], 0.04, -0.04), (Touches.RETURN, [1], 0.04, -0.04)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    looks = [Predictive(what, *KEYS[k], None, *CERTAIN) for what, k in (("a", 1), ("b", 0), ("c", 0))]
    assert best_first(looks, stakes) == [(0.02, 0), (0.02, 1)]
    assert best_first(looks, stakes, 0.02) == [(0.02, 0), (0.02, 1)]
    assert best_first(looks, stakes, 0.021) == []


def test_a_play_that_cannot_lose_leaves_little_to_learn() -> None:
    """At even chances 0.5 * 0.04 for certain, or 0.5 * 0.05 - 0.5 * 0.03: knowing brings 0.025 for 0.02."""
    laid_out, gains = table([(Touches.SERVE, [0], 0.04, 0.0), (Touches.SERVE, [0], 0.05, -0.03)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    assert best_first([look(0, *CERTAIN)], stakes) == [(0.005, 0)]
    laid_out, gains = table([(Touches.SERVE, [0], 0.04, 0.0), (Touches.SERVE, [0], 0.05, -0.2)])
    assert laid_out.at_stake(gains, [0.5, 0.5, 0.5]).needed(0) == 0.0


def test_what_is_known_need_not_be_among_the_looks() -> None:
    laid_out, gains = table([(Touches.SERVE, [0], 0.04, -0.04)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    sure = look(0, *CERTAIN)
    looks = LookTable([sure], [[sure]], KEYS)
    assert list(looks.best_first(stakes, (), ("no.such.look",), lambda _: sure, 0.001)) == [(0.02, 0)]
    assert list(looks.best_first(stakes, (), ("some.kind",), lambda _: sure, 0.001)) == []


def test_two_plays_on_one_trait_pay_one_if_it_holds_and_one_if_not() -> None:
    """At even chances 0.02 by the first, 0.005 by the second; knowing brings 0.025 + 0.015."""
    laid_out, gains = table([(Touches.SERVE, [0], 0.05, -0.01), (Touches.SERVE, [0], -0.02, 0.03)])
    stakes = laid_out.at_stake(gains, [0.5, 0.5, 0.5])
    assert stakes.worth(0, look(0, *CERTAIN)) == pytest.approx(0.02)
    assert stakes.needed(0) == 0.0


@pytest.mark.parametrize(
    ("serve", "return_", "ratio"),
    [
        ((0.04, -0.08), (0.02, -0.08), 2.0),
        ((0.02, -0.08), (0.04, -0.08), 2.0),
        ((-0.08, 0.04), (-0.08, 0.02), 0.5),
        ((-0.08, 0.02), (-0.08, 0.04), 0.5),
        ((0.04, -0.08), (-0.08, 0.02), 1.0),
        ((0.08, -0.04), (-0.08, 0.02), 1.0),
        ((0.02, -0.08), (-0.02, 0.04), 1.0),
    ],
)
def test_the_plan_first_changes_where_the_readiest_play_breaks_even(
    serve: tuple[float, float], return_: tuple[float, float], ratio: float
) -> None:
    """At even chances a play that costs 0.08 for 0.04 pays once the odds are 2 to 1, one for 0.02 at 4 to 1.

    Where one pays if the trait holds and one if it fails, it is left open.
    """
    laid_out, gains = table([(Touches.SERVE, [0], *serve), (Touches.RETURN, [0], *return_)])
    assert laid_out.at_stake(gains, [0.5, 0.5, 0.5]).needed(0) == pytest.approx(log(ratio))
