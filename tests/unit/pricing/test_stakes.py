"""What hangs on each belief, and what a further look is worth."""

from math import prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.domain.reasoning import Play
from tacticapi.domain.rules import Alternative, Effect, Tactic, Touches
from tacticapi.domain.situation import Show
from tacticapi.pricing.stakes import Gain, PlayTable

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
    worth = stakes.worth(trait, *predictive)
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
    assert stakes.worth(trait, *predictive) == pytest.approx(0.0, abs=1e-12)


def test_a_look_that_tells_nothing_is_worth_nothing_and_one_that_tells_all_is_worth_certainty() -> None:
    laid_out, gains_of = table([(Touches.RETURN, [1], 0.04, -0.03)])
    stakes = laid_out.at_stake(gains_of, [0.5, 0.4, 0.5])
    looks = [((0.5, 0.5), (0.5, 0.5)), ((1.0, 0.0), (0.0, 1.0))]
    assert [stakes.worth(1, *predictive) for predictive in looks] == pytest.approx([0.0, 0.4 * 0.04], abs=1e-12)
    assert stakes.certainty[1] == pytest.approx(0.4 * 0.04)


def test_without_a_play_there_is_nothing_to_gain() -> None:
    laid_out, gains_of = table([(Touches.RETURN, [1], -1.0, -1.0)])
    stakes = laid_out.at_stake(gains_of, [0.5, 0.4, 0.5])
    assert not stakes.certainty
    assert stakes.worth(1, (1.0, 0.0), (0.0, 1.0)) == 0.0
