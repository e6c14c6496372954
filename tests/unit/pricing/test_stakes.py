"""What hangs on each belief, and what a further look is worth."""

from math import prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.domain.reasoning import Play
from tacticapi.domain.rules import Alternative, Effect, Tactic, Touches
from tacticapi.domain.situation import Show
from tacticapi.pricing.stakes import PlayTable, Stakes

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


def lines_worth(priced: list[tuple[Touches, list[int], float, float]], at: list[float], trait: int) -> float:
    """What the lines on a trait are worth: the best play that rests on it, or none, in every part of the game."""
    total = 0.0
    for part in Touches:
        worths = [0.0]
        for on, rests, holds, fails in priced:
            chance = prod(at[place] for place in rests)
            if on is part and trait in rests:
                worths.append(chance * holds + (1 - chance) * fails)
        total += max(worths)
    return total


def stakes_of(priced: list[tuple[Touches, list[int], float, float]], at: list[float]) -> Stakes:
    laid_out = PlayTable([play(on, *rests) for on, rests, _, _ in priced], KEYS)
    return laid_out.at_stake([(place, p[2], p[3]) for place, p in enumerate(priced)], at)


def worth(stakes: Stakes, trait: int, *looks: tuple[tuple[float, ...], tuple[float, ...]]) -> list[float]:
    """The worth of looks of as many outcomes each."""
    if_holds, if_fails = (np.array(part) for part in zip(*looks, strict=True))
    return list(stakes.worth(np.full(len(looks), trait), if_holds, if_fails))


@given(priced=plays, at=beliefs, look=chances(), trait=st.integers(0, 2))
def test_the_worth_of_a_look_is_the_lines_after_it_on_average_less_those_now(
    priced: list[tuple[Touches, list[int], float, float]],
    at: list[float],
    look: tuple[tuple[float, ...], tuple[float, ...]],
    trait: int,
) -> None:
    stakes = stakes_of(priced, at)
    expected = -lines_worth(priced, at, trait)
    mean_belief = 0.0
    for if_holds, if_fails in zip(*look, strict=True):
        chance = at[trait] * if_holds + (1 - at[trait]) * if_fails
        after = list(at)
        after[trait] = at[trait] * if_holds / chance
        mean_belief += chance * after[trait]
        expected += chance * lines_worth(priced, after, trait)
    assert mean_belief == pytest.approx(at[trait])  # on average a look leaves the belief where it is
    (gained,) = worth(stakes, trait, look)
    assert gained == pytest.approx(expected, abs=1e-12)
    assert -1e-12 <= gained <= stakes.certainty[trait] + 1e-12


@given(priced=plays, at=beliefs, looks=st.lists(st.tuples(st.integers(0, 2), chances()), min_size=1, max_size=6))
def test_many_looks_at_once_are_worth_what_each_is_alone(
    priced: list[tuple[Touches, list[int], float, float]],
    at: list[float],
    looks: list[tuple[int, tuple[tuple[float, ...], tuple[float, ...]]]],
) -> None:
    stakes = stakes_of(priced, at)
    padded = np.zeros((2, len(looks), 6))
    for row, (_, look) in enumerate(looks):
        padded[:, row, : len(look[0])] = look
    together = stakes.worth(np.array([trait for trait, _ in looks]), *padded)
    assert list(together) == pytest.approx([worth(stakes, trait, look)[0] for trait, look in looks], abs=1e-12)


@given(at=beliefs, look=chances(), trait=st.integers(0, 2))
def test_a_look_that_cannot_change_the_plan_is_worth_nothing(
    at: list[float], look: tuple[tuple[float, ...], tuple[float, ...]], trait: int
) -> None:
    always = [(Touches.SERVE, [trait], 0.03, 0.01), (Touches.BOTH, [trait], -0.01, -0.02)]
    assert worth(stakes_of(always, at), trait, look) == pytest.approx([0.0], abs=1e-12)


def test_a_look_that_tells_nothing_is_worth_nothing_and_one_that_tells_all_is_worth_certainty() -> None:
    stakes = stakes_of([(Touches.RETURN, [1], 0.04, -0.03)], [0.5, 0.4, 0.5])
    looks = [((0.5, 0.5), (0.5, 0.5)), ((1.0, 0.0), (0.0, 1.0))]
    assert worth(stakes, 1, *looks) == pytest.approx([0.0, 0.4 * 0.04], abs=1e-12)
    assert stakes.certainty[1] == pytest.approx(0.4 * 0.04)


def test_lines_on_two_traits_do_not_stand_in_each_others_way() -> None:
    one = (Touches.BOTH, [0], 0.02, -0.02)
    alone, beside = (stakes_of([one, *more], [0.4, 0.9, 0.5]) for more in ([], [(Touches.BOTH, [1], 0.09, 0.08)]))
    assert beside.certainty[0] == pytest.approx(alone.certainty[0]) == pytest.approx(0.4 * 0.02)


def test_what_is_not_known_of_a_play_is_most_in_the_middle_even_if_it_is_played_anyhow() -> None:
    swings = [stakes_of([(Touches.BOTH, [0], 0.03, 0.01)], [p, 0.5, 0.5]).swing[0] for p in (0.1, 0.5, 0.9)]
    assert swings == pytest.approx([0.09 * 0.02, 0.25 * 0.02, 0.09 * 0.02])


def test_without_a_play_there_is_nothing_to_gain() -> None:
    stakes = stakes_of([(Touches.RETURN, [1], -1.0, -1.0)], [0.5, 0.4, 0.5])
    assert not stakes.certainty.any()
    assert not stakes.swing.any()
    assert worth(stakes, 1, ((1.0, 0.0), (0.0, 1.0))) == [0.0]
