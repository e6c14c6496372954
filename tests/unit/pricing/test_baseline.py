"""Points won without a tactic, and whether tries tell against one."""

from dataclasses import replace
from math import exp, fsum

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import betaln

from tacticapi.domain.rules import Rulebook, Touches
from tacticapi.domain.situation import MAX_TRIED, Moment, PointsPlayed, Situation, Tries
from tacticapi.pricing.baseline import (
    Beta,
    SequentialTest,
    TryVerdict,
    baseline,
    chance_below,
    judge_tries,
    tries_to_tell,
)
from tacticapi.pricing.price import learned

LEVELS = {
    "much-weaker": (0.66, 0.50),
    "weaker": (0.62, 0.46),
    "level": (0.58, 0.42),
    "stronger": (0.54, 0.38),
    "much-stronger": (0.50, 0.34),
}


@pytest.mark.parametrize(("level", "means"), [*LEVELS.items(), (None, LEVELS["level"])])
def test_the_opponents_level_sets_the_shares_until_points_are_played(
    rulebook: Rulebook, level: str | None, means: tuple[float, float]
) -> None:
    base = baseline(Situation(Moment.BEFORE_MATCH, context={"level_gap": level}), rulebook.defaults)
    assert (base.serve.mean, base.return_.mean) == pytest.approx(means)
    assert base.serve.a + base.serve.b == pytest.approx(20)


def test_between_level_players_a_point_won_on_serve_is_one_lost_on_return(rulebook: Rulebook) -> None:
    base = baseline(Situation(Moment.BEFORE_MATCH), rulebook.defaults)
    assert base.serve.mean + base.return_.mean == pytest.approx(1.0)


def test_points_played_count_beside_the_twenty_of_the_prior(rulebook: Rulebook) -> None:
    played = PointsPlayed(serve_won=11, serve_of=20, return_won=7, return_of=19)
    base = baseline(Situation(Moment.SET_BREAK, points_played=played), rulebook.defaults)
    assert (base.serve.a, base.serve.b) == pytest.approx((11.6 + 11, 8.4 + 9))
    assert (base.return_.a, base.return_.b) == pytest.approx((8.4 + 7, 11.6 + 12))


def test_a_tactic_is_measured_against_the_points_that_it_touches(rulebook: Rulebook) -> None:
    base = baseline(Situation(Moment.BEFORE_MATCH), rulebook.defaults)
    assert base.of(Touches.SERVE) is base.serve
    assert base.of(Touches.RETURN) is base.return_
    assert base.of(Touches.BOTH).mean == pytest.approx(0.5)


# What tries tell ------------------------------------------------------------------------------------------------------


SERVE = "serve-to-hidden-wing"
RETURN = "attack-second-serve"
RALLY = "work-weaker-wing"


def judged(rulebook: Rulebook, *tries: Tries, level: str = "level") -> tuple[TryVerdict, ...]:
    asked = Situation(Moment.CHANGE_OF_ENDS, context={"level_gap": level}, tries=tries)
    return judge_tries(asked, rulebook.tactics, baseline(asked, rulebook.defaults), rulebook.defaults)


def is_given_up(rulebook: Rulebook, tactic: str, won: int, of: int) -> bool:
    verdict = judged(rulebook, Tries(tactic, of, won))[0]
    return verdict.enough and verdict.worse >= rulebook.defaults["plan"]["worse"]


@pytest.mark.parametrize(
    ("won", "of", "given_up"),
    [(0, 8, True), (2, 8, True), (3, 8, False), (4, 8, False), (8, 8, False), (4, 12, True), (6, 12, False)],
)
def test_a_rally_plan_is_given_up_at_two_of_eight_or_four_of_twelve_and_not_at_three_of_eight(
    rulebook: Rulebook, won: int, of: int, given_up: bool
) -> None:
    assert is_given_up(rulebook, RALLY, won, of) is given_up


@pytest.mark.parametrize("won", range(8))
def test_fewer_than_eight_tries_never_suffice(rulebook: Rulebook, won: int) -> None:
    assert not is_given_up(rulebook, RALLY, min(won, 7), 7)


def test_a_serve_plan_is_measured_against_serve_points_and_a_return_plan_against_return_points(
    rulebook: Rulebook,
) -> None:
    serve, back = judged(rulebook, Tries(SERVE, 10, 4), Tries(RETURN, 10, 4))
    assert (serve.tries.tactic, back.tries.tactic) == (SERVE, RETURN)
    assert (serve.baseline, back.baseline) == pytest.approx((0.58, 0.42))
    assert serve.worse > 0.8 > back.worse


def test_what_was_not_tried_is_not_judged_and_the_worst_comes_first(rulebook: Rulebook) -> None:
    told = judged(rulebook, Tries(RALLY, 9, 6), Tries(SERVE, 9, 1), Tries(RETURN, 0, 0))
    assert [v.tries.tactic for v in told] == [SERVE, RALLY]


@pytest.mark.parametrize(("won", "of", "more"), [(6, 9, 0), (4, 8, 8), (5, 12, 10), (0, 1, 10), (3, 3, 5)])
def test_how_many_more_tries_would_tell(rulebook: Rulebook, won: int, of: int, more: int) -> None:
    """Half against 0.3, wrong one time in five either way: Wald's mean numbers, recomputed, and eight tries at least.

    Six of nine are enough: 6 log(3/5) + 3 log(7/5) = -2.06 lies beyond -log 4. So would three of three be, but for the
    eight.
    """
    (verdict,) = judged(rulebook, Tries(RALLY, of, won))
    assert (verdict.more, verdict.enough) == (more, of >= 8)


def test_a_small_share_is_told_from_its_half() -> None:
    told, half = {"gap": 0.2, "error": 0.2}, SequentialTest(0.3, 0.15, 0.2, 0.2)
    assert tries_to_tell(Tries(RALLY, 4, 1), 0.3, told) == half.more(1, 4) > 0


def test_of_two_tactics_that_did_alike_the_first_by_name_comes_first(rulebook: Rulebook) -> None:
    names = [t.id for t in rulebook.tactics.values() if t.price and t.touches is Touches.BOTH]
    last, first = sorted(names)[-1], sorted(names)[0]
    assert [v.tries.tactic for v in judged(rulebook, Tries(last, 9, 3), Tries(first, 9, 3))] == [first, last]


@given(won=st.integers(0, 19))
def test_one_more_point_won_makes_it_less_likely_to_be_worse(rulebook: Rulebook, won: int) -> None:
    less, more = (judged(rulebook, Tries(RALLY, 20, n))[0].worse for n in (won, won + 1))
    assert more < less


@st.composite
def tries_of_a_match(draw: st.DrawFn) -> tuple[int, int]:
    """Points won and tries, the whole legal range and its ends."""
    tried = draw(st.integers(1, MAX_TRIED) | st.sampled_from([1, MAX_TRIED // 2, MAX_TRIED]))
    return draw(st.integers(0, tried) | st.sampled_from([0, tried])), tried


points = st.integers(0, 10_000) | st.sampled_from([0, 10_000])
GAPS = st.sampled_from(["much-weaker", "weaker", "level", "stronger", "much-stronger"])


@pytest.mark.filterwarnings("error")
@given(tries=tries_of_a_match(), on_serve=st.tuples(points, points), on_return=st.tuples(points, points), level=GAPS)
def test_whatever_was_tried_and_played_a_verdict_is_a_chance_and_a_number_of_tries(
    rulebook: Rulebook, tries: tuple[int, int], on_serve: tuple[int, int], on_return: tuple[int, int], level: str
) -> None:
    won, tried = tries
    played = PointsPlayed(min(on_serve), max(on_serve), min(on_return), max(on_return))
    asked = Situation(
        Moment.CHANGE_OF_ENDS,
        context={"level_gap": level},
        points_played=played,
        tries=tuple(Tries(tactic, tried, won) for tactic in (SERVE, RETURN, RALLY)),
    )
    base = baseline(asked, rulebook.defaults)
    told = judge_tries(asked, rulebook.tactics, base, rulebook.defaults)
    assert len(told) == 3
    for verdict in told:
        assert 0.0 <= verdict.worse <= 1.0
        assert 0.0 < verdict.baseline < 1.0
        assert 0 <= verdict.more <= MAX_TRIED * 1000
        after = learned(0.02, 0.01, carried_out=0.1, share=0.3, usual=verdict.baseline, tries=verdict.tries)
        assert -0.3 <= after.mean <= 0.3
        assert 0.0 < after.spread <= 0.3 * 0.11


@pytest.mark.filterwarnings("error")
@given(tries=tries_of_a_match(), usual=st.floats(1e-9, 1 - 1e-9), sums=st.sampled_from([1, 1_000, 10**6]))
def test_tries_to_tell_stay_finite_for_any_usual_share_and_far_beyond_a_match(
    tries: tuple[int, int], usual: float, sums: int
) -> None:
    won, tried = (number * sums for number in tries)
    assert tries_to_tell(Tries(RALLY, tried, won), usual, {"gap": 0.2, "error": 0.2}) >= 0


def test_tries_that_have_told_need_no_more_however_many_they_are() -> None:
    test = SequentialTest(0.5, 0.3, 0.2, 0.2)
    assert [test.more(won, MAX_TRIED) for won in (0, MAX_TRIED)] == [0, 0]
    assert test.more(4, 8) == 8


def chance_above(one: Beta, other: Beta) -> float:
    """P(X > Y) for a whole number of wins of X: the textbook sum of Beta functions."""
    terms = (
        exp(betaln(other.a + i, one.b + other.b) - betaln(1 + i, one.b) - betaln(other.a, other.b)) / (one.b + i)
        for i in range(int(one.a))
    )
    return fsum(terms)


counts = st.integers(1, 60)


@given(a=counts, b=counts, c=counts, d=counts)
def test_the_chance_that_one_share_lies_below_another_is_the_closed_form(a: int, b: int, c: int, d: int) -> None:
    assert chance_below(Beta(c, d), Beta(a, b)) == pytest.approx(chance_above(Beta(a, b), Beta(c, d)), abs=1e-10)


@given(a=st.floats(1, 80), b=st.floats(1, 80), c=st.floats(1, 80), d=st.floats(1, 80))
def test_one_of_two_shares_is_the_lower_one(a: float, b: float, c: float, d: float) -> None:
    one, other = Beta(a, b), Beta(c, d)
    assert chance_below(one, other) + chance_below(other, one) == pytest.approx(1.0, abs=1e-6)
    assert chance_below(one, replace(one)) == pytest.approx(0.5, abs=1e-6)
