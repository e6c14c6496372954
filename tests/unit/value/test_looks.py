"""A look can only help, and by no more than certainty would."""

from itertools import product
from math import prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.domain.look import Outlook, Play
from tacticapi.domain.tactic import Alternative, Effect, Tactic, Touches
from tacticapi.domain.terms import Show
from tacticapi.value import LookTable, PlayTable

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


def look(trait: int, holds: tuple[float, ...], fails: tuple[float, ...]) -> Outlook:
    return Outlook("some.kind", *KEYS[trait], None, holds, fails)


@st.composite
def chances(draw: st.DrawFn) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Two distributions over the same outcomes."""
    outcomes = draw(st.integers(2, 6))
    columns = (draw(st.lists(st.floats(0.01, 1), min_size=outcomes, max_size=outcomes)) for _ in range(2))
    holds, fails = (tuple(x / sum(column) for x in column) for column in columns)
    return holds, fails


beliefs = st.lists(st.floats(0.01, 0.99), min_size=3, max_size=3).map(np.array)
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


def table(priced: list[tuple[Touches, list[int], float, float]]) -> tuple[PlayTable, np.ndarray, np.ndarray]:
    laid_out = PlayTable([play(on, *rests) for on, rests, _, _ in priced], KEYS)
    return laid_out, np.array([p[2] for p in priced]), np.array([p[3] for p in priced])


@given(priced=plays, at=beliefs, outlook=chances(), trait=st.integers(0, 2))
def test_the_worth_of_a_look_is_the_plan_after_it_on_average_less_the_plan_now(
    priced: list[tuple[Touches, list[int], float, float]],
    at: np.ndarray,
    outlook: tuple[tuple[float, ...], tuple[float, ...]],
    trait: int,
) -> None:
    laid_out, holds, fails = table(priced)
    stakes = laid_out.at_stake(holds, fails, at)
    now = plan_worth(priced, at.tolist())
    expected = -now
    mean_belief = 0.0
    for if_holds, if_fails in zip(*outlook, strict=True):
        chance = at[trait] * if_holds + (1 - at[trait]) * if_fails
        after = at.tolist()
        after[trait] = at[trait] * if_holds / chance
        mean_belief += chance * after[trait]
        expected += chance * plan_worth(priced, after)
    worth = LookTable([look(trait, *outlook)], KEYS).worths(stakes)[0]
    assert mean_belief == pytest.approx(at[trait])  # on average a look leaves the belief where it is
    assert stakes.now == pytest.approx([now] * 3, abs=1e-12)
    assert worth == pytest.approx(expected, abs=1e-12)
    assert -1e-12 <= worth <= stakes.certainty[trait] + 1e-12


@given(at=beliefs, outlook=chances(), trait=st.integers(0, 2))
def test_a_look_that_cannot_change_the_plan_is_worth_nothing(
    at: np.ndarray, outlook: tuple[tuple[float, ...], tuple[float, ...]], trait: int
) -> None:
    always = [(Touches.SERVE, [trait], 0.03, 0.01), (Touches.BOTH, [trait], -0.01, -0.02)]
    laid_out, holds, fails = table(always)
    stakes = laid_out.at_stake(holds, fails, at)
    assert LookTable([look(trait, *outlook)], KEYS).worths(stakes) == pytest.approx([0.0], abs=1e-12)


def test_a_look_that_tells_nothing_is_worth_nothing_and_one_that_tells_all_is_worth_certainty() -> None:
    laid_out, holds, fails = table([(Touches.RETURN, [1], 0.04, -0.03)])
    stakes = laid_out.at_stake(holds, fails, np.array([0.5, 0.4, 0.5]))
    looks = LookTable([look(1, (0.5, 0.5), (0.5, 0.5)), look(1, (1.0, 0.0), (0.0, 1.0))], KEYS)
    assert looks.worths(stakes) == pytest.approx([0.0, 0.4 * 0.04], abs=1e-12)
    assert stakes.certainty[1] == pytest.approx(0.4 * 0.04)
    assert [round(worth, 4) for worth, _ in looks.worthy(stakes, 0.001)] == [0.016]


def test_without_a_play_or_a_look_there_is_nothing_to_gain() -> None:
    laid_out, holds, fails = table([(Touches.RETURN, [1], -1.0, -1.0)])
    stakes = laid_out.at_stake(holds, fails, np.array([0.5, 0.4, 0.5]))
    assert not stakes.certainty.any()
    assert list(LookTable([], KEYS).worthy(stakes, 0.0)) == []


def test_several_looks_at_once_are_each_worth_what_they_are_worth_alone() -> None:
    laid_out, holds, fails = table(
        [(on, [k], 0.01 * (k + 1), -0.01) for on, k in product(Touches, range(3))]
        + [(Touches.BOTH, [0, 2], 0.09, -0.02)]
    )
    stakes = laid_out.at_stake(holds, fails, np.array([0.3, 0.5, 0.6]))
    outlooks = [look(k, (0.2 * k + 0.1, 0.9 - 0.2 * k), (0.6, 0.4)) for k in range(3)]
    alone = [LookTable([outlook], KEYS).worths(stakes)[0] for outlook in outlooks]
    assert LookTable(outlooks, KEYS).worths(stakes) == pytest.approx(alone)
    best_first = [worth for worth, _ in LookTable(outlooks, KEYS).worthy(stakes, 0.0)]
    assert best_first == pytest.approx(sorted(alone, reverse=True), abs=1e-6)
