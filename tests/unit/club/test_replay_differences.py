"""What differs between advice of then and now is told in words, each difference with its reason."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from tacticapi.club.advising import differences, why_not


def advice(*tactics, **more):
    return {"safety": [], "plan": None, "notice": [], "suggestions": [{"tactic": name} for name in tactics], **more}


@pytest.mark.parametrize(
    ("then", "now", "told"),
    [
        (advice("lob"), advice("lob"), ()),
        (advice("slice"), advice("slice", "lob"),
         ("lob is now suggested", "different text or numbers in suggestions")),
        (advice("lob", "slice"), advice("slice", "lob"), ("different text or numbers in suggestions",)),
        (advice("lob"), advice(),
         ("lob is no longer suggested: it is out of use", "different text or numbers in suggestions")),
        (advice(plan="keep"), advice(notice=["new"]), ("different text or numbers in notice, plan",)),
    ],
)  # fmt: skip
def test_each_difference_is_told(then, now, told):
    assert differences(then, now, lambda tactic: "it is out of use") == told


@pytest.mark.parametrize(
    ("context", "told"),
    [
        ({}, "needs the belief 'heavy topspin' at 0.55 or more; it is at 0.25"),
        ({"thunder": True}, "today's rules show only safety"),
    ],
)
def test_a_tactic_that_today_s_rules_do_not_suggest_has_its_reason(adviser, situation, context, told):
    assert why_not("answer-heavy-topspin", situation(context=context), adviser) == told


@pytest.mark.parametrize("instead", ["work-weaker-wing", "either of the two passing tactics"])
def test_a_retired_tactic_names_what_stands_in_its_place(rulebook, situation, instead):
    retired = replace(rulebook.tactics["keep-net-rusher-back"], deprecated=instead)
    book = replace(rulebook, tactics={**rulebook.tactics, retired.id: retired})
    today = SimpleNamespace(rulebook=book)
    assert why_not(retired.id, situation(), today) == f"it is retired; use {instead} instead"
