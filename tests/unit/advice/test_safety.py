"""Safety before and instead of tactics, and nothing else where the event does not permit advice."""

from dataclasses import replace
from itertools import product

import pytest

from tacticapi.advice import Adviser
from tacticapi.advice.safety import CHECK, JUNIORS_CHECK, NO_COACHING, NO_DEVICE, withheld
from tacticapi.advice.selection import SAFETY_AUTHORITY
from tacticapi.domain.situation import Coaching, Device, Moment, Show
from tacticapi.rulebook.matcher import Matcher

from ...builders import tally

WEAK_WING = [tally("rally.against_low_ball", 1, 12, wing="backhand")]
ALL_STROKES = {"handedness": "right", "slice_backhand": 4, "serve_placement": 4, "volley": 4, "return_attack": 4}
SIGNS = [
    {"observations": [{"what": "physical.warning_sign", "seen": True}]},
    {"context": {"thunder": True}},
    {"own": {"pain_now": 1, "pain_site": "chest"}},
    {"own": {"pain_now": 1, "pain_site": "head"}},
    {"own": {"pain_or_limit": "felt faint in the warm-up"}},
    {"context": {"heat": "extreme"}},
    {"context": {"heat": {"wbgt": 32.2}}},
    {"observations": [{"what": "physical.warning_sign", "value": "dizziness"}]},
    {"observations": [tally("rally.forehand_errors", 1, 4, note="he is wheezing")]},
]


@pytest.mark.parametrize("sign", SIGNS)
@pytest.mark.parametrize("moment", list(Moment))
def test_a_danger_sign_returns_safety_alone_at_every_moment(advise, sign, moment):
    seen = [*sign.get("observations", ()), *WEAK_WING]
    own = {**ALL_STROKES, **sign.get("own", {})}
    advice = advise(**{**sign, "moment": moment.value, "observations": seen, "own": own})
    assert advice.safety
    assert all(line.alone and line.caution for line in advice.safety)
    assert (advice.suggestions, advice.look_for, advice.beliefs, advice.plan) == ((), (), (), None)


def test_a_sign_reported_as_not_there_stops_nothing(advise):
    advice = advise(observations=[{"what": "physical.warning_sign", "seen": False}, *WEAK_WING], own=ALL_STROKES)
    assert advice.safety == ()
    assert advice.suggestions


def test_a_slight_pain_is_named_and_leaves_the_tactics_that_spare_it_and_no_pain_withholds_nothing(advise):
    slight, none = (
        advise(own={**ALL_STROKES, "pain_now": pain, "pain_site": "elbow"}, observations=WEAK_WING, limit=10)
        for pain in (1, 0)
    )
    assert [line.tactic for line in slight.safety] == ["spare-a-sore-spot"]
    assert slight.safety[0].say.startswith("Sore elbow: ")
    assert [line.tactic for line in slight.suggestions][:2] == ["spare-a-sore-spot", "play-around-a-sore-arm"]
    assert none.safety == ()
    for advice in (slight, none):
        assert any(line.category == "rally" for line in advice.suggestions)


@pytest.mark.parametrize(
    ("own", "say"),
    [
        ({"pain_now": 2, "pain_site": "knee"}, "Pain (knee): stop playing"),
        ({"pain_now": 1}, "Pain (place not given): stop playing"),
        ({"pain_now": 3, "pain_site": "knee"}, "Severe pain (knee): stop play now"),
        ({"pain_now": 3, "pain_site": "knee", "age_band": "U14"}, "Severe pain (knee): stop play now"),
        ({"pain_now": 2, "pain_site": "knee", "age_band": "U14"}, "Pain (knee): under 18 you stop, tell an adult"),
        ({"pain_now": 4, "pain_site": "neck"}, "Neck pain: stop."),
    ],
)
def test_the_gravest_of_its_words_is_said_of_a_pain(advise, own, say):
    advice = advise(own=own)
    assert advice.safety[0].say.startswith(say)
    assert advice.suggestions[0].say.startswith(say)


def test_a_text_that_nobody_reads_is_handed_back(advise):
    told = advise(own={"favourite_pattern": "serve wide, then the open court"}, observations=WEAK_WING).unused
    ours = [(line.observation, line.what, line.text) for line in told if line.text]
    assert ours == [(None, "own.favourite_pattern", "serve wide, then the open court")]


def test_a_safety_line_names_every_source(advise):
    (line,) = advise(context={"heat": "extreme"}).safety
    keys = [source.key for source in line.sources]
    assert keys == ["HEAT-ACSM", "HEAT-CLUB", "HEAT-JAPAN", "HEAT-SCHOOL"]
    assert all(source.backs and source.citation for source in line.sources)


@pytest.mark.parametrize(
    "context", [{"heat": "hot"}, {"heat": {"air_c": 31}}, {"heat": {"air_c": 34}}, {"heat": {"wbgt": 29}}]
)
def test_heat_is_said_first_and_tactics_may_follow(advise, context):
    advice = advise(context=context, own=ALL_STROKES, observations=WEAK_WING, limit=10)
    assert [line.tactic for line in advice.safety] == ["heat-precautions"]
    assert advice.suggestions[0].tactic == "heat-precautions"
    assert any(s.category == "rally" for s in advice.suggestions)


@pytest.mark.parametrize("context", [{"heat": "warm"}, {"heat": {"air_c": 30}}, {"heat": {"wbgt": 27.5}}, {}])
def test_a_warm_day_is_no_heat(advise, context):
    assert advise(context=context).safety == ()


def test_a_danger_sign_silences_milder_safety_lines(advise):
    advice = advise(context={"heat": "hot", "thunder": True, "surface_state": "wet"})
    assert [line.tactic for line in advice.safety] == ["lightning-leave-court"]


def test_a_house_line_that_stands_alone_takes_no_safety_line_of_ours_away(rulebook, situation):
    heat = rulebook.tactics["heat-precautions"]
    house = replace(rulebook, tactics={**rulebook.tactics, heat.id: replace(heat, house=True, alone=True)})
    adviser = Adviser(house, Matcher(house, "evaluator"))
    damp = adviser.recommend(situation(context={"heat": "hot", "surface_state": "wet"}))
    assert [line.tactic for line in damp.safety] == ["heat-precautions", "uneven-or-slippery-court"]
    assert damp.suggestions == ()
    thunder = adviser.recommend(situation(context={"heat": "hot", "surface_state": "wet", "thunder": True}))
    assert [line.tactic for line in thunder.safety] == ["heat-precautions", "lightning-leave-court"]


def test_every_safety_line_shown_first_carries_a_caution(rulebook):
    first = [t for t in rulebook.tactics.values() if t.authority == SAFETY_AUTHORITY and t.show is Show.FIRST]
    assert len(first) >= 5
    assert all(t.caution for t in first)


def test_all_that_stands_alone_is_safety(rulebook):
    assert all(t.authority == SAFETY_AUTHORITY and t.show is Show.FIRST for t in rulebook.tactics.values() if t.alone)


OFF_COURT = {Moment.BEFORE_MATCH, Moment.AFTER_MATCH}
ALLOWED = {
    Coaching.PERMITTED: set(Moment),
    Coaching.UNKNOWN: set(Moment),
    Coaching.CHANGE_OF_ENDS_AND_SET_BREAK: OFF_COURT | {Moment.CHANGE_OF_ENDS, Moment.SET_BREAK},
    Coaching.SET_BREAK: OFF_COURT | {Moment.SET_BREAK},
    Coaching.NOT_PERMITTED: OFF_COURT,
}
SEEN = [tally("warmup.ran_round_backhand", 4, 5)]


@pytest.mark.parametrize(("moment", "coaching", "device"), product(Moment, Coaching, Device))
def test_between_the_warm_up_and_the_last_point_two_permissions_bind(situation, moment, coaching, device):
    may = moment in ALLOWED[coaching] and (moment in OFF_COURT or device is not Device.NOBODY)
    why = withheld(situation(moment=moment.value, context={"coaching": coaching.value, "device": device.value}))
    assert (why is None) is may
    assert why in (None, NO_COACHING, NO_DEVICE)


@pytest.mark.parametrize("context", [{"coaching": "not-permitted"}, {"device": "nobody"}, {"coaching": "set-break"}])
def test_where_advice_is_not_permitted_nothing_but_the_notice_is_said(advise, context):
    advice = advise(moment="change-of-ends", context=context, opponent={"handedness": "right"}, observations=SEEN)
    assert (advice.suggestions, advice.beliefs, advice.look_for, advice.held_back, advice.unused) == ((),) * 5
    assert (advice.plan, advice.score) == (None, None)
    assert len(advice.notice) == 1
    assert advice.notice[0].startswith("Only safety advice is shown")


def test_safety_is_said_even_where_advice_is_not_permitted(advise):
    advice = advise(context={"coaching": "not-permitted", "thunder": True})
    assert [line.tactic for line in advice.safety] == ["lightning-leave-court"]
    assert advice.suggestions == ()


def test_no_trace_is_left_of_what_may_not_be_shown(adviser, situation):
    trace = adviser.trace(situation(context={"coaching": "not-permitted"}, observations=SEEN))
    assert (trace.facts, trace.rules, trace.questions) == ((), {}, ())
    assert trace.inference.matches == ()


@pytest.mark.parametrize("context", [{}, {"coaching": "permitted"}, {"device": "coach"}, {"coaching": "unknown"}])
def test_an_unknown_permission_is_asked_about_before_use_during_play(advise, context):
    assert advise(context=context).notice[0] == CHECK
    assert advise(context={"coaching": "permitted", "device": "coach"}).notice[0] != CHECK


@pytest.mark.parametrize("moment", ["before-match", "after-match"])
def test_at_home_nobody_needs_a_permission(advise, moment):
    assert CHECK not in advise(moment=moment).notice


@pytest.mark.parametrize("who", ["own", "opponent", "context"])
@pytest.mark.parametrize("age_band", ["U12", "U14", "U18"])
def test_juniors_are_told_that_most_events_do_not_allow_it(advise, who, age_band):
    assert advise(**{who: {"age_band": age_band}}).notice[:2] == (CHECK, JUNIORS_CHECK)
    assert JUNIORS_CHECK not in advise(**{who: {"age_band": "open"}}).notice
