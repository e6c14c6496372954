"""What differs between advice of then and now is told in words, each difference with its reason."""

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from tacticapi.advice import Adviser
from tacticapi.club.advising import differences, why_not
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Situation

Write = Callable[..., Situation]
HELD = {"tactic": "lob", "reason": "own-ability", "why": "needs lob 2 or more"}
WINS = {"verdict": "keep", "why": "it wins"}
FIRED = ["tactic/lob/0", "tactic/lob-late/0"]


def advice(*tactics: str, held: tuple[Any, ...] = (), **more: Any) -> dict[str, Any]:
    lines = [{"tactic": tactic, "rank": place} for place, tactic in enumerate(tactics, start=1)]
    rest = {"safety": [], "held_back": list(held), "plan": None, "beliefs": [], "notice": []}
    return {**rest, "suggestions": lines, **more}


@pytest.mark.parametrize(
    ("then", "fired", "now", "told"),
    [
        (advice("lob", held=(HELD,)), [], advice("lob", held=(HELD,)), ()),
        (advice(held=(HELD,)), FIRED, advice("lob"),
         ("lob is now suggested, as number 1; then it was held back (own-ability): needs lob 2 or more",)),
        (advice("slice"), FIRED, advice("slice", "lob"),
         ("lob is now suggested, as number 2; then its conditions held, but other tactics took the places",)),
        (advice(), FIRED[1:], advice("lob"), ("lob is now suggested, as number 1; then no rule of it fired",)),
        (advice("lob", "slice"), [], advice("slice", "lob"), ("another order: slice, lob; then lob, slice",)),
        (advice("lob"), FIRED, advice(), ("lob is no longer suggested: it is out of use",)),
        (advice(), [], advice(plan=WINS), ("the plan is keep (it wins), then not told",)),
        (advice(plan={"verdict": "change", "why": ""}), [], advice(), ("the plan is not told, then change ()",)),
        (advice(), [], advice(notice=["new"]), ("the same advice; other words or figures in notice",)),
    ],
)  # fmt: skip
def test_each_difference_is_told_with_what_was_said_then(
    rulebook: Rulebook, then: dict[str, Any], fired: list[str], now: dict[str, Any], told: tuple[str, ...]
) -> None:
    assert differences(then, fired, now, lambda tactic: "it is out of use", rulebook) == told


@pytest.mark.parametrize(
    ("context", "told"),
    [
        ({}, "needs the belief 'heavy topspin' at 0.55 or more; it stands at 0.25"),
        ({"thunder": True}, "nothing but safety is shown by today's rules"),
    ],
)
def test_a_tactic_that_today_s_rules_do_not_suggest_has_its_reason(
    adviser: Adviser, situation: Write, context: dict[str, Any], told: str
) -> None:
    assert why_not("answer-heavy-topspin", situation(context=context), adviser) == told


@pytest.mark.parametrize("instead", ["work-weaker-wing", "either of the two passing tactics"])
def test_a_retired_tactic_names_what_stands_in_its_place(rulebook: Rulebook, situation: Write, instead: str) -> None:
    retired = replace(rulebook.tactics["keep-net-rusher-back"], deprecated=instead)
    book = replace(rulebook, tactics={**rulebook.tactics, retired.id: retired})
    today: Any = SimpleNamespace(rulebook=book)
    assert why_not(retired.id, situation(), today) == f"it is retired; {instead} stands in its place"
