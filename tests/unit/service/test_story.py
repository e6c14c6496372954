"""The score story against the chances of tacticapi.scoring."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tacticapi.pricing.baseline import Baseline, Beta
from tacticapi.scoring import Format, expected
from tacticapi.service.debrief.story import most_important, story
from tacticapi.service.scorekeeping import Step

from ...scores import play

BASE = Baseline(Beta(12.6, 8.4), Beta(8.4, 12.6))
SHORT = Format(sets=1, games=4)


def steps(winners: list[str]) -> list[Step]:
    states = play(SHORT, list(winners), "own")  # type: ignore[arg-type]
    return [Step(b, w, None, a) for b, w, a in zip(states, winners, states[1:], strict=False)]  # type: ignore[arg-type]


@given(st.lists(st.sampled_from(["own", "opponent"]), min_size=1, max_size=15))
@settings(max_examples=25)
def test_every_chance_is_the_expected_one_from_that_score(winners: list[str]) -> None:
    told = story(steps(winners), SHORT, BASE)
    for point, step in zip(told, steps(winners), strict=True):
        chances = expected(SHORT, step.before, (12.6, 8.4), (8.4, 12.6)).match
        assert point.chance_before == pytest.approx(chances.now, abs=1e-9)
        assert point.importance == pytest.approx(chances.importance, abs=1e-9)


def test_a_won_match_ends_at_certainty() -> None:
    told = story(steps(["own"] * 16), SHORT, BASE)
    assert told[-1].chance == 1.0
    assert [point.winner for point in told] == ["own"] * 16


def test_of_equally_important_points_the_earlier_comes_first() -> None:
    told = story(steps(["own"] * 16), SHORT, BASE)
    assert [p.number for p in most_important([told[0], told[0]], 2)] == [1, 1]
    found = most_important(told, 3)
    assert found == tuple(sorted(told, key=lambda p: (-round(p.importance, 9), p.number))[:3])
