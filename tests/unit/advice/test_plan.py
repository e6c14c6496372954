"""Keep, adjust or change: what is said of the way of playing, and by which numbers."""

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
from tacticapi.domain.advice import Advice
from tacticapi.domain.rules import Rulebook, Tactic
from tacticapi.domain.situation import Moment, OwnErrors, Plan, PointsPlayed, Situation, Tries
from tacticapi.pricing.baseline import TryVerdict

Advise = Callable[..., Advice]
RALLY = "work-weaker-wing"


def tried(*counts: tuple[int, int]) -> list[dict[str, Any]]:
    """Tries of the rally tactic: (won, of)."""
    return [{"tactic": RALLY, "won": won, "tried": of} for won, of in counts]


def points(won: int, of: int) -> dict[str, Any]:
    return {"on_serve": {"won": won, "of": of}, "on_return": {"won": 0, "of": 0}}


@pytest.mark.parametrize(
    ("won", "of", "plan"),
    [
        (2, 8, Plan.CHANGE),
        (3, 8, Plan.KEEP),
        (4, 12, Plan.CHANGE),
        (5, 12, Plan.KEEP),
        (7, 8, Plan.KEEP),
        (0, 7, Plan.ADJUST),
        (0, 5, Plan.ADJUST),
        (1, 5, Plan.KEEP),
        (0, 4, Plan.KEEP),
        (2, 4, Plan.KEEP),
    ],
)
def test_a_plan_is_changed_only_by_eight_tries_that_clearly_lose(advise: Advise, won: int, of: int, plan: Plan) -> None:
    advice = advise(tries=tried((won, of)))
    assert advice.plan is plan
    assert f"{won} of {of} points won against 0.50" in (advice.plan_why or "")
    assert "the chance that it is better is 0." in (advice.plan_why or "")


def test_too_few_tries_say_how_many_more_would_tell(advise: Advise) -> None:
    why = advise(tries=tried((2, 4))).plan_why or ""
    assert "about 10 more tries would tell" in why
    assert why.endswith("fewer than 8 tries are too few to tell, look again")


def test_fewer_than_eight_tries_never_change_the_plan(advise: Advise) -> None:
    assert {advise(tries=tried((0, of))).plan for of in range(1, 8)} == {Plan.KEEP, Plan.ADJUST}


def test_a_game_lost_by_own_errors_needs_more_balls_in_not_another_plan(advise: Advise) -> None:
    errors = {"unforced": 10, "of": 14}
    for tries in ([], tried((2, 10))):
        advice = advise(tries=tries, own_errors=errors, points_played=points(7, 21))
        assert advice.plan is Plan.ADJUST
        assert (advice.plan_why or "").startswith("10 of the 14 points lost were your own errors: get more balls")


def test_points_lost_to_better_play_change_the_plan_and_say_so(advise: Advise) -> None:
    advice = advise(own_errors={"unforced": 3, "of": 14}, points_played=points(7, 21))
    assert advice.plan is Plan.CHANGE
    assert "you won 7 of 21 points" in (advice.plan_why or "")
    assert "they play better" in (advice.plan_why or "")


def test_points_lost_for_a_cause_not_counted_adjust_the_plan(advise: Advise) -> None:
    advice = advise(points_played=points(7, 21))
    assert advice.plan is Plan.ADJUST
    assert "you won 7 of 21 points" in (advice.plan_why or "")


def test_few_points_lost_are_no_reason(advise: Advise) -> None:
    assert advise(points_played=points(3, 12)).plan is Plan.KEEP
    assert advise(points_played=points(9, 21)).plan is Plan.KEEP


def test_a_winning_game_is_kept_even_with_errors_and_a_losing_tactic_in_it_is_left_alone(advise: Advise) -> None:
    kept = advise(points_played=points(15, 22), own_errors={"unforced": 6, "of": 8})
    assert kept.plan is Plan.KEEP
    assert "keep a winning game" in (kept.plan_why or "")
    adjusted = advise(points_played=points(15, 22), tries=tried((1, 10)))
    assert adjusted.plan is Plan.ADJUST
    assert "leave it, and keep the rest" in (adjusted.plan_why or "")


def test_with_nothing_tried_there_is_nothing_against_the_plan(advise: Advise) -> None:
    advice = advise()
    assert (advice.plan, advice.plan_why) == (
        Plan.KEEP,
        "no tactic has been tried yet; nothing speaks against the plan",
    )


# Word for word, from tries that were judged already -------------------------------------------------------------------


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
