"""The verdict on the way of playing and its reason, word for word, from tries that were judged already."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tacticapi.advice.plan import (
    BALL_MAKING,
    BETTER_PLAY,
    LOSING,
    OWN_ERRORS,
    WINNING,
    plan_losing,
    plan_verdict,
    plan_winning,
)
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import OwnErrors, PointsPlayed, Situation, Tries
from tacticapi.domain.tactic import Tactic
from tacticapi.domain.terms import Moment, Plan
from tacticapi.pricing.baseline import TryVerdict

Verdict = Callable[..., tuple[Plan, str]]
COUNTED = Situation(Moment.SET_BREAK, points_played=PointsPlayed(5, 12, 2, 9), own_errors=OwnErrors(10, 14))
POINTS, ERRORS = "you won 7 of 21 points", "10 of the 14 points lost were your own errors"
NO_TRIES = "no tactic has been tried yet"


def judged(worse: float, tried: int = 8, won: int = 3, more: int = 0, enough: bool = True) -> TryVerdict:
    return TryVerdict(Tries("lob", tried, won), worse, 0.48, enough, more)


def words(worse: float, tried: int = 8, won: int = 3, more: str = "") -> str:
    better = f"so the chance that it is better is {1 - worse:.2f}"
    return f"'lob': {won} of {tried} points won against 0.48 of the points won without it, {better}{more}"


@pytest.fixture
def verdict(rulebook: Rulebook, tactic: Callable[..., Tactic]) -> Verdict:
    """The verdict with a tactic "lob", where 0.9 is clearly worse and 0.8 after five tries an early sign."""
    plan = {**rulebook.defaults["plan"], "worse": 0.9, "early": {"tries": 5, "worse": 0.8}, "tries": 8}
    book = replace(rulebook, tactics={"lob": tactic("lob")}, defaults={**rulebook.defaults, "plan": plan})

    def ask(*verdicts: TryVerdict, holding: frozenset[str] = frozenset(), of: Situation = COUNTED) -> tuple[Plan, str]:
        return plan_verdict(of, verdicts, holding, book)

    return ask


def holds(*names: str) -> dict[str, Any]:
    return {"holding": frozenset(names)}


def test_a_tactic_that_clearly_loses_is_changed(verdict: Verdict) -> None:
    for worse in (0.9, 0.95):
        assert verdict(judged(worse)) == (
            Plan.CHANGE,
            f"{words(worse)}: it clearly does worse than going without it",
        )
    assert verdict(judged(0.89))[0] is not Plan.CHANGE


def test_of_several_tactics_the_first_that_was_tried_enough_is_told(verdict: Verdict) -> None:
    few, enough = judged(0.99, tried=4, won=0, enough=False), judged(0.92)
    assert verdict(few, enough) == (Plan.CHANGE, f"{words(0.92)}: it clearly does worse than going without it")


def test_in_a_winning_game_a_losing_tactic_is_left_and_the_rest_kept(verdict: Verdict) -> None:
    told = verdict(judged(0.95), **holds(WINNING, OWN_ERRORS))
    assert told == (Plan.ADJUST, f"{words(0.95)}: leave it, and keep the rest, as {POINTS}")


def test_own_errors_are_put_right_before_a_losing_tactic_is_judged(verdict: Verdict) -> None:
    told = verdict(judged(0.95), **holds(OWN_ERRORS, LOSING))
    assert told == (Plan.ADJUST, f"{ERRORS}: {BALL_MAKING}, then judge again; {words(0.95)}")


@pytest.mark.parametrize(
    ("holding", "plan", "why"),
    [
        ((), Plan.KEEP, f"{NO_TRIES}; nothing speaks against the plan"),
        ((WINNING, OWN_ERRORS), Plan.KEEP, f"{POINTS}, so keep a winning game; {NO_TRIES}"),
        ((OWN_ERRORS, LOSING), Plan.ADJUST, f"{ERRORS}: {BALL_MAKING}; {NO_TRIES}"),
        ((LOSING,), Plan.ADJUST, f"{POINTS}; change one cheap thing, height or depth; {NO_TRIES}"),
        ((LOSING, BETTER_PLAY), Plan.CHANGE, f"{POINTS}, and only {ERRORS}: they play better; {NO_TRIES}"),
        ((BETTER_PLAY,), Plan.KEEP, f"{NO_TRIES}; nothing speaks against the plan"),
    ],
)
def test_without_tries_points_and_errors_decide(
    verdict: Verdict, holding: tuple[str, ...], plan: Plan, why: str
) -> None:
    assert verdict(**holds(*holding)) == (plan, why)


def test_an_early_sign_comes_before_lost_points(verdict: Verdict) -> None:
    early = judged(0.8, tried=5, won=1, enough=False)
    why = f"{words(0.8, 5, 1)}; too few tries to drop it, but use it less until it pays"
    assert verdict(early) == (Plan.ADJUST, why)
    assert verdict(early, **holds(LOSING, BETTER_PLAY)) == (Plan.ADJUST, why)
    assert verdict(early, **holds(WINNING))[0] is Plan.KEEP


@pytest.mark.parametrize(("tried", "worse"), [(4, 0.95), (5, 0.79)])
def test_fewer_tries_or_a_smaller_chance_are_no_early_sign(verdict: Verdict, tried: int, worse: float) -> None:
    told = verdict(judged(worse, tried=tried, won=1, enough=False))
    assert told == (Plan.KEEP, f"{words(worse, tried, 1)}; fewer than 8 tries are too few to tell, look again")


def test_enough_tries_that_do_not_clearly_lose_are_kept(verdict: Verdict) -> None:
    assert verdict(judged(0.6)) == (Plan.KEEP, f"{words(0.6)}; not clearly worse than without it")


@pytest.mark.parametrize(
    ("more", "told"), [(0, ""), (1, "; about 1 more try would tell"), (7, "; about 7 more tries would tell")]
)
def test_how_many_more_tries_would_tell(verdict: Verdict, more: int, told: str) -> None:
    assert verdict(judged(0.6, more=more))[1].startswith(words(0.6, more=told) + "; not clearly")


def test_points_of_nobody_are_none_of_none(verdict: Verdict) -> None:
    told = verdict(**holds(LOSING), of=Situation(Moment.SET_BREAK))
    assert told[1].startswith("you won 0 of 0 points;")


def test_the_plan_loses_or_wins_only_by_a_tactic_tried_often_enough() -> None:
    """A chance of 0.9 to do worse is one of 0.1 to do better."""
    assert plan_losing([judged(0.2), judged(0.9)], 0.9)
    assert not plan_losing([judged(0.89)], 0.9)
    assert not plan_losing([judged(0.95, enough=False)], 0.9)
    assert plan_winning([judged(0.8), judged(0.125)], 0.875)
    assert not plan_winning([judged(0.13)], 0.875)
    assert not plan_winning([judged(0.05, enough=False)], 0.875)
    assert not plan_losing([], 0.0)
    assert not plan_winning([], 0.0)
