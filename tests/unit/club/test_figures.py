"""The score story against tacticapi.scoring and the prior, the intervals of shares, and the weight of old matches."""

from datetime import UTC, datetime, timedelta
from math import sqrt
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tacticapi.club.debrief import story, wilson
from tacticapi.club.dossier import weight
from tacticapi.club.scorekeeping import Step, points_played
from tacticapi.pricing.baseline import posteriors
from tacticapi.scoring.formats import Format
from tacticapi.scoring.match import expected

from ...scores import play

SHORT = Format(sets=1, games=4)


def steps(winners):
    states = play(SHORT, list(winners), "own")
    return [Step(b, w, None, a) for b, w, a in zip(states, winners, states[1:], strict=False)]


@given(st.lists(st.sampled_from(["own", "opponent"]), min_size=1, max_size=15))
@settings(max_examples=25)
def test_every_chance_is_that_from_the_score_and_the_points_played_by_then(rulebook, winners):
    taken = steps(winners)
    for n, (point, step) in enumerate(zip(told(winners, rulebook), taken, strict=True)):
        base = posteriors("weaker", points_played(taken[:n]), rulebook.defaults)
        pairs = (base.serve.a, base.serve.b), (base.return_.a, base.return_.b)
        chances = expected(SHORT, step.before, *pairs).match
        assert point.chance_before == pytest.approx(chances.now, abs=3e-5)  # the grid of live advice
        assert point.importance == pytest.approx(chances.importance, abs=3e-4)


def told(winners, rulebook, level_gap="weaker"):
    return story(steps(winners), SHORT, level_gap, rulebook.defaults)


def test_it_begins_at_the_prior_whatever_was_played(rulebook):
    starts = {
        gap: {told(winners, rulebook, gap)[0].chance_before for winners in (["own"] * 15, ["opponent"] * 3)}
        for gap in ("weaker", None, "stronger")
    }
    assert all(len(found) == 1 for found in starts.values())
    weaker, level, stronger = (found.pop() for found in starts.values())
    assert level == pytest.approx(0.5, abs=0.02)
    assert weaker > level > stronger


NOW = datetime(2026, 5, 1, tzinfo=UTC)
COUNTS = st.integers(1, 500).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of)))


@given(COUNTS, st.floats(0.5, 0.99))
def test_each_bound_is_where_the_share_would_just_be_a_chance_result(counts, coverage):
    # the score interval's definition: |share - bound| = z · sqrt(bound (1 - bound) / n)
    won, of = counts
    z = NormalDist().inv_cdf((1 + coverage) / 2)
    found = wilson(won, of, coverage)
    for bound in (found.low, found.high):
        assert abs(found.share - bound) == pytest.approx(z * sqrt(max(0.0, bound * (1 - bound)) / of), abs=1e-9)
    assert 0 <= found.low <= found.share <= found.high <= 1
    nothing = wilson(0, 0, coverage)
    assert (nothing.share, nothing.low) == (None, None)


def test_a_match_counts_half_after_a_half_life_and_less_on_another_surface(rulebook):
    figures = rulebook.defaults["dossier"]
    then = NOW - timedelta(days=figures["half_life_days"])
    assert weight(NOW, NOW, rulebook, same_surface=True) == 1.0
    assert weight(then, NOW, rulebook, same_surface=True) == pytest.approx(0.5)
    assert weight(then, NOW, rulebook, same_surface=False) == pytest.approx(0.5 * figures["other_surface"])
    assert weight(NOW + timedelta(days=1), NOW, rulebook, same_surface=True) == 1.0
