"""What the service asks to look at next."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tacticapi.advice import Adviser
from tacticapi.advice.looks import LookFinder, Plays, looks_that_fit, phases_left
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import Fact, Firings, Inference, RuleMatch
from tacticapi.domain.rules import Alternative, Condition, FactKind, Op, Rulebook, Tactic, Test
from tacticapi.domain.situation import Moment, Phase, Situation, Way, Wing

Advise = Callable[..., Advice]
OWN = {
    "handedness": "right",
    "serve_placement": 3,
    "slice_backhand": 3,
    "second_serve_kick": 3,
    "volley": 3,
    "approach": 3,
}
ASKED: dict[str, Any] = {
    "moment": "change-of-ends",
    "own": OWN,
    "opponent": {"handedness": "right", "backhand_type": "two-handed"},
    "score": {"sets": [], "games": [2, 1], "points": ["0", "0"], "server": "own"},
}


def test_three_looks_the_best_first_and_at_different_traits(advise: Advise) -> None:
    looks = advise(**ASKED).look_for
    assert len(looks) == 3
    assert [look.worth for look in looks] == sorted((look.worth for look in looks), reverse=True)
    assert looks[-1].worth > 0
    assert len({(look.trait, look.wing, look.what) for look in looks}) == 3


def test_a_look_on_one_wing_says_which(advise: Advise, rulebook: Rulebook) -> None:
    returned = [{"what": "return.forehand_in", "count": 30, "of": 30}]
    told = [*advise(**ASKED).look_for, *advise(**ASKED, observations=returned).look_for]
    on_one_wing = [look for look in told if look.worth and "wing" in rulebook.kinds[look.what].qualifiers]
    assert on_one_wing
    assert all(look.how.endswith(f"({look.wing})") for look in on_one_wing)
    assert {look.wing for look in told if look not in on_one_wing} == {None}


def test_what_can_no_longer_be_seen_is_not_asked_for(advise: Advise, rulebook: Rulebook) -> None:
    for look in advise(**ASKED).look_for:
        assert Phase.GAMES in rulebook.kinds[look.what].phases
    assert advise(moment="after-match").look_for == ()


def test_what_is_known_of_the_opponent_is_not_asked_for(advise: Advise) -> None:
    unknown = advise(moment="before-match", own={"handedness": "right", "volley": 0}, opponent={})
    asked = {look.what for look in unknown.look_for}
    known = advise(moment="before-match", own={"handedness": "right", "volley": 0}, opponent={"backhand_type": "slice"})
    assert "opponent.backhand_type" not in {look.what for look in known.look_for}
    assert asked


def test_the_more_firmly_a_thing_is_known_the_less_is_a_look_at_it_worth(advise: Advise, rulebook: Rulebook) -> None:
    first = next(look for look in advise(**ASKED).look_for if Way.COUNT in rulebook.kinds[look.what].ways)

    def worth(of: int) -> float:
        seen = [{"what": first.what, "count": of, "of": of}] if of else []
        looks = advise(**ASKED, observations=seen).look_for
        return next((look.worth for look in looks if (look.trait, look.wing) == (first.trait, first.wing)), 0.0)

    assert worth(30) < worth(0) == first.worth


def test_a_stroke_that_is_not_owned_gives_nothing_to_look_for(advise: Advise) -> None:
    low = [{"what": "rally.strokes_per_point", "amount": 6}]
    with_slice = {look.what for look in advise(**ASKED, observations=low).look_for}
    without = advise(**{**ASKED, "own": {"handedness": "right"}}).look_for
    assert "return.against_kick" not in {look.what for look in without}
    assert with_slice


@pytest.mark.parametrize(("minutes", "looks"), [(0.5, 1), (1.2, 2), (5, 3)])
def test_in_the_warm_up_only_as_many_looks_as_fit_in_the_order_of_the_warm_up(
    advise: Advise, rulebook: Rulebook, minutes: float, looks: int
) -> None:
    told = advise(**{**ASKED, "moment": "after-warm-up", "score": None}, minutes_left=minutes).look_for
    order = list(rulebook.kinds)
    places = [(rulebook.kinds[look.what].starter or 10_000, order.index(look.what)) for look in told]
    assert len(told) == looks
    assert places == sorted(places)
    assert all(Phase.WARM_UP in rulebook.kinds[look.what].phases for look in told)


def test_when_no_look_fits_any_more_the_games_are_next(advise: Advise, rulebook: Rulebook) -> None:
    told = advise(**{**ASKED, "moment": "after-warm-up", "score": None}, minutes_left=0.2).look_for
    assert len(told) == 3
    assert all(Phase.GAMES in rulebook.kinds[look.what].phases for look in told)


def test_minutes_left_matter_in_the_warm_up_only() -> None:
    during = Situation(Moment.CHANGE_OF_ENDS, minutes_left=1.0)
    assert looks_that_fit(during, 0.5) is None
    assert looks_that_fit(replace(during, moment=Moment.AFTER_WARM_UP), 0.5) == 2
    assert phases_left(Moment.AFTER_WARM_UP, 2) == (Phase.WARM_UP,)
    assert phases_left(Moment.AFTER_WARM_UP, 0) == (Phase.GAMES,)


def test_counts_that_tell_nothing_alone_are_answered_by_a_look_that_does(advise: Advise) -> None:
    fed = [{"what": "warmup.fed_backhand", "amount": 18}, {"what": "warmup.fed_forehand", "amount": 4}]
    looks = advise(moment="after-warm-up", own=OWN, opponent={"handedness": "right"}, observations=fed).look_for
    assert looks[-1].what == "warmup.middle_ball_on_forehand"
    assert looks[0].worth > 0


def test_the_same_situation_has_the_same_looks(adviser: Adviser, rulebook: Rulebook, situation: Any) -> None:
    asked = situation(**ASKED)
    assert adviser.recommend(asked).look_for == Adviser(rulebook, adviser.matcher).recommend(asked).look_for


def test_looks_are_prepared_from_the_rulebook_alone(adviser: Adviser, rulebook: Rulebook) -> None:
    assert isinstance(adviser._looks, LookFinder)
    plays = Plays(rulebook)
    assert {"work-weaker-wing", "serve-to-hidden-wing"} <= {play.tactic.id for play in plays.all}
    assert all(play.rests_on for play in plays.all)


# Plays whose conditions share a wing ---------------------------------------------------------------------------------

LIKELY = (Test("permille", Op.AT_LEAST, 700),)


def tied(tactic: Callable[..., Tactic], *conditions: Condition) -> Tactic:
    return replace(tactic("low-to-the-weak-wing"), when=(Alternative(conditions),))


def open_keys(rulebook: Rulebook, tactic: Tactic, matched: dict[str, Fact]) -> set[tuple[str, Wing | None]]:
    plays = Plays(replace(rulebook, tactics={tactic.id: tactic}))
    inference = Inference((RuleMatch(f"candidate/{tactic.id}/0", tuple(matched)),), matched, "evaluator")
    return {key for p in plays.open(inference, Firings({}, {}), {}) for key in plays.all[p].rests_on}


def test_a_belief_tied_to_what_was_seen_is_taken_on_that_wing(
    rulebook: Rulebook, tactic: Callable[..., Tactic]
) -> None:
    seen = Condition(FactKind.OBSERVED, "rally.against_low_ball")
    belief = Condition(FactKind.BELIEF, "weak_low_ball", LIKELY, same_wing=True)
    fact = Fact("o", FactKind.OBSERVED, "rally.against_low_ball", {"wing": "backhand"})
    assert open_keys(rulebook, tied(tactic, seen, belief), {"o": fact}) == {("weak_low_ball", Wing.BACKHAND)}
    first = replace(belief, same_wing=False)
    after = replace(seen, same_wing=True)
    assert open_keys(rulebook, tied(tactic, first, after), {"o": fact}) == {("weak_low_ball", Wing.BACKHAND)}


def test_a_belief_that_names_its_wing_is_taken_on_that_wing_and_a_free_one_on_both(
    rulebook: Rulebook, tactic: Callable[..., Tactic]
) -> None:
    free = Condition(FactKind.BELIEF, "weak_low_ball", LIKELY)
    fixed = replace(free, tests=(*LIKELY, Test("wing", Op.IS, "forehand")))
    assert open_keys(rulebook, tied(tactic, free), {}) == {("weak_low_ball", wing) for wing in Wing}
    assert open_keys(rulebook, tied(tactic, fixed), {}) == {("weak_low_ball", Wing.FOREHAND)}
