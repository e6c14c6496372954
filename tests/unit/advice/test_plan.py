"""Keep, adjust or change: what is said of the way of playing, and by which numbers."""

from collections.abc import Callable
from typing import Any

import pytest

from tacticapi.domain.advice import Advice
from tacticapi.domain.terms import Plan

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
