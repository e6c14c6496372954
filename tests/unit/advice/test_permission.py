"""What an event's rules let be shown: every moment, every coaching rule, every device rule."""

from collections.abc import Callable
from itertools import product

import pytest

from tacticapi.advice import Adviser
from tacticapi.advice.safety import CHECK, JUNIORS_CHECK, NO_COACHING, NO_DEVICE, withheld
from tacticapi.domain.advice import Advice
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Coaching, Device, Moment

Write = Callable[..., Situation]
Advise = Callable[..., Advice]
OFF_COURT = {Moment.BEFORE_MATCH, Moment.AFTER_MATCH}
ALLOWED = {
    Coaching.PERMITTED: set(Moment),
    Coaching.UNKNOWN: set(Moment),
    Coaching.CHANGE_OF_ENDS_AND_SET_BREAK: OFF_COURT | {Moment.CHANGE_OF_ENDS, Moment.SET_BREAK},
    Coaching.SET_BREAK: OFF_COURT | {Moment.SET_BREAK},
    Coaching.NOT_PERMITTED: OFF_COURT,
}
SEEN = [{"what": "warmup.ran_round_backhand", "count": 4, "of": 5}]


@pytest.mark.parametrize(("moment", "coaching", "device"), product(Moment, Coaching, Device))
def test_between_the_warm_up_and_the_last_point_two_permissions_bind(
    situation: Write, moment: Moment, coaching: Coaching, device: Device
) -> None:
    may = moment in ALLOWED[coaching] and (moment in OFF_COURT or device is not Device.NOBODY)
    why = withheld(situation(moment=moment.value, context={"coaching": coaching.value, "device": device.value}))
    assert (why is None) is may
    assert why in (None, NO_COACHING, NO_DEVICE)


@pytest.mark.parametrize("context", [{"coaching": "not-permitted"}, {"device": "nobody"}, {"coaching": "set-break"}])
def test_where_advice_is_not_permitted_nothing_but_the_notice_is_said(advise: Advise, context: dict[str, str]) -> None:
    advice = advise(moment="change-of-ends", context=context, opponent={"handedness": "right"}, observations=SEEN)
    assert (advice.suggestions, advice.beliefs, advice.look_for, advice.held_back, advice.unused) == ((),) * 5
    assert (advice.plan, advice.plan_why, advice.score) == (None, None, None)
    assert len(advice.notice) == 1
    assert advice.notice[0].startswith("Only safety is shown")


def test_safety_is_said_even_where_advice_is_not_permitted(advise: Advise) -> None:
    advice = advise(context={"coaching": "not-permitted", "thunder": True})
    assert [line.tactic for line in advice.safety] == ["lightning-leave-court"]
    assert advice.suggestions == ()


def test_no_trace_is_left_of_what_may_not_be_shown(adviser: Adviser, situation: Write) -> None:
    trace = adviser.trace(situation(context={"coaching": "not-permitted"}, observations=SEEN))
    assert (trace.facts, trace.rules, trace.questions) == ((), {}, ())
    assert trace.inference.matches == ()


@pytest.mark.parametrize("context", [{}, {"coaching": "permitted"}, {"device": "coach"}, {"coaching": "unknown"}])
def test_an_unknown_permission_is_asked_about_before_use_during_play(advise: Advise, context: dict[str, str]) -> None:
    assert advise(context=context).notice[0] == CHECK
    assert advise(context={"coaching": "permitted", "device": "coach"}).notice[0] != CHECK


@pytest.mark.parametrize("moment", ["before-match", "after-match"])
def test_at_home_nobody_needs_a_permission(advise: Advise, moment: str) -> None:
    assert CHECK not in advise(moment=moment).notice


@pytest.mark.parametrize("who", ["own", "opponent", "context"])
@pytest.mark.parametrize("age_band", ["U12", "U14", "U18"])
def test_juniors_are_told_that_most_events_do_not_allow_it(advise: Advise, who: str, age_band: str) -> None:
    assert advise(**{who: {"age_band": age_band}}).notice[:2] == (CHECK, JUNIORS_CHECK)
    assert JUNIORS_CHECK not in advise(**{who: {"age_band": "open"}}).notice
