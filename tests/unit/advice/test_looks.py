"""What the service asks to look at next."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tacticapi.advice import Adviser
from tacticapi.advice.looks import HAND, IN_WIND, WIND, LookFinder, Plays, games_played, looks_that_fit, phases_left
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import Fact, Firings, Inference, RuleMatch
from tacticapi.domain.rules import Alternative, Condition, FactKind, Op, Rulebook, Tactic, Test
from tacticapi.domain.situation import Moment, Phase, Situation, Tries, Way, Wing

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
WEAK_BACKHAND = [
    {"what": "warmup.high_backhand", "rating": 0},
    {"what": "warmup.backhand_made", "count": 4, "of": 14},
    {"what": "warmup.forehand_made", "count": 12, "of": 14},
]
FED = [{"what": "warmup.fed_backhand", "amount": 18}, {"what": "warmup.fed_forehand", "amount": 4}]


def asked(advise: Advise, **more: Any) -> list[str]:
    return [look.what for look in advise(**{**ASKED, **more}).look_for]


# What can be seen from now on ----------------------------------------------------------------------------------------


def test_three_looks_at_different_traits_and_kinds(advise: Advise) -> None:
    looks = advise(**ASKED).look_for
    assert len(looks) == 3
    assert looks[0].worth > 0
    assert len({look.what for look in looks}) == len({look.trait for look in looks}) == 3


def test_a_look_on_one_wing_says_which(advise: Advise, rulebook: Rulebook) -> None:
    told = [*advise(**ASKED).look_for, *advise(**ASKED, observations=WEAK_BACKHAND).look_for]
    on_one_wing = [look for look in told if look.trait and "wing" in rulebook.kinds[look.what].qualifiers]
    assert on_one_wing
    assert all(look.how.endswith(f"({look.wing})") for look in on_one_wing)
    assert {look.wing for look in told if look not in on_one_wing} == {None}


@pytest.mark.parametrize("moment", [moment for moment in Moment if moment is not Moment.AFTER_MATCH])
def test_from_the_first_game_on_looks_are_for_games(advise: Advise, rulebook: Rulebook, moment: Moment) -> None:
    what = asked(advise, moment=moment, observations=WEAK_BACKHAND)
    assert what
    assert all(Phase.GAMES in rulebook.kinds[name].phases for name in what)


def test_after_the_warm_up_the_looks_are_those_of_the_first_games(advise: Advise, rulebook: Rulebook) -> None:
    what = asked(advise, moment="after-warm-up", score=None)
    assert all(Phase.GAMES in rulebook.kinds[name].phases for name in what)
    assert advise(moment="after-match").look_for == ()


@pytest.mark.parametrize(("server", "hidden"), [("own", "serve"), ("opponent", "return")])
def test_between_points_only_what_the_next_point_can_show_is_asked_for(
    advise: Advise, server: str, hidden: str
) -> None:
    score = {**ASKED["score"], "points": ["15", "0"], "server": server}
    seen = [{"what": {"serve": "serve.unreturned_serves", "return": "return.backhand_in"}[hidden], "count": 6, "of": 9}]
    for observations in ([], seen):
        what = asked(advise, moment="between-points", score=score, observations=observations)
        assert what
        assert not [name for name in what if name.startswith(f"{hidden}.")]


def test_what_takes_games_to_show_is_not_asked_for_before(adviser: Adviser, rulebook: Rulebook, situation: Any) -> None:
    rule = rulebook.defaults["looks"]
    assert set(rule["games_before"]) | set(rule["or_tried"]) <= set(rulebook.kinds)
    impossible = adviser._looks._impossible
    early = situation(**{**ASKED, "score": {**ASKED["score"], "games": [1, 1]}})
    later = situation(**{**ASKED, "score": {**ASKED["score"], "games": [3, 2]}})
    assert "conduct.change_of_play" in set(impossible(early))
    assert "conduct.change_of_play" not in set(impossible(later))
    tried = replace(early, tries=(Tries("work-weaker-wing", 3, 1),))
    assert "conduct.change_of_play" not in set(impossible(tried))
    assert "pressure.closing" in set(impossible(tried))
    assert games_played(situation(**{**ASKED, "score": {**ASKED["score"], "sets": [[6, 3]]}})) == 12


# What is asked first, and of the conditions ---------------------------------------------------------------------------


@pytest.mark.parametrize("moment", ["before-match", "between-points", "change-of-ends"])
def test_the_hand_is_asked_first_while_it_is_unknown(advise: Advise, moment: str) -> None:
    score = None if moment == "before-match" else ASKED["score"]
    assert asked(advise, moment=moment, score=score, opponent={})[0] == HAND
    assert HAND not in asked(advise, moment=moment, score=score)


@pytest.mark.parametrize("more", [{"context": {"setting": "outdoor"}}, {"observations": FED}])
def test_nothing_takes_the_place_of_the_hand(advise: Advise, more: dict[str, Any]) -> None:
    warm_up = {"moment": "after-warm-up", "score": None, "minutes_left": 0.5}
    assert asked(advise, **warm_up, opponent={}, **more) == [HAND]


def test_what_is_known_of_the_opponent_is_not_asked_for(advise: Advise) -> None:
    before = {"moment": "before-match", "score": None}
    assert "opponent.backhand_type" not in asked(advise, **before)


@pytest.mark.parametrize(
    ("context", "asks"),
    [
        ({"setting": "outdoor"}, True),
        ({"setting": "outdoor", "wind": "none"}, False),
        ({"setting": "outdoor", "wind": "strong"}, False),
        ({"setting": "indoor"}, False),
        ({}, False),
    ],
)
def test_the_wind_is_asked_for_outdoors_until_it_is_known(advise: Advise, context: dict[str, str], asks: bool) -> None:
    assert (WIND in asked(advise, context=context)) is asks
    assert WIND not in asked(advise, context=context, moment="between-points")


def test_play_in_wind_is_looked_at_only_in_wind(adviser: Adviser, situation: Any) -> None:
    def impossible(**context: str) -> set[str]:
        return set(adviser._looks._impossible(situation(**ASKED, context=context)))

    assert IN_WIND not in impossible(setting="outdoor", wind="strong")
    for context in ({"setting": "outdoor", "wind": "none"}, {"setting": "outdoor"}, {"setting": "indoor"}):
        assert IN_WIND in impossible(**context)


@pytest.mark.parametrize(("minutes", "looks"), [(0.5, 1), (1.2, 2), (5, 3)])
def test_in_the_warm_up_as_many_looks_as_fit_in_the_order_of_the_warm_up(
    advise: Advise, rulebook: Rulebook, minutes: float, looks: int
) -> None:
    net = {"what": "warmup.volley_backhand", "rating": 0}
    stroke = {"what": "warmup.high_backhand", "rating": 1}
    serve = {"what": "warmup.serve_spots", "counts": {"wide": 8, "body": 0, "T": 1}}
    stages = rulebook.defaults["looks"]["warm_up_order"]
    for observations in ([], [net], [net, stroke, serve]):
        what = asked(advise, moment="after-warm-up", score=None, minutes_left=minutes, observations=observations)
        at = [next((n for n, stage in enumerate(stages) if name.partition(".")[2] in stage), -1) for name in what]
        assert len(what) == looks
        assert at == sorted(at)
        assert all(Phase.WARM_UP in rulebook.kinds[name].phases for name in what)


def test_every_stage_of_the_warm_up_names_kinds_of_the_warm_up(rulebook: Rulebook) -> None:
    named = [f"warmup.{key}" for stage in rulebook.defaults["looks"]["warm_up_order"] for key in stage]
    assert len(named) == len(set(named))
    assert all(Phase.WARM_UP in rulebook.kinds[name].phases for name in named)


def test_if_no_look_fits_any_more_the_games_are_next(advise: Advise, rulebook: Rulebook) -> None:
    what = asked(advise, moment="after-warm-up", score=None, minutes_left=0.2)
    assert len(what) == 3
    assert all(Phase.GAMES in rulebook.kinds[name].phases for name in what)


def test_minutes_left_matter_in_the_warm_up_only() -> None:
    during = Situation(Moment.CHANGE_OF_ENDS, minutes_left=1.0)
    warm_up = replace(during, moment=Moment.AFTER_WARM_UP)
    assert looks_that_fit(during, 0.5) is None
    assert looks_that_fit(warm_up, 0.5) == 2
    assert phases_left(warm_up, 2) == (Phase.WARM_UP,)
    assert phases_left(warm_up, 0) == phases_left(warm_up, None) == (Phase.GAMES,)


# What a look is worth -------------------------------------------------------------------------------------------------

BAD_VOLLEYS = [
    {"what": "warmup.volley_forehand", "rating": 1},
    {"what": "warmup.volley_backhand", "rating": 0},
    {"what": "warmup.smash_quality", "rating": 1},
]
ONE_SPOT = [
    {"what": "warmup.serve_spots", "counts": {"wide": 0, "body": 0, "T": 9}, "court": court}
    for court in ("deuce", "ad")
]


@pytest.mark.parametrize(
    ("seen", "begin", "wing"),
    [
        (WEAK_BACKHAND, ("rally.", "return.backhand", "warmup."), "backhand"),
        (BAD_VOLLEYS, ("net.",), None),
        (ONE_SPOT, ("serve.",), None),
    ],
)
def test_the_first_games_confirm_what_the_warm_up_began_to_show(
    advise: Advise, seen: list[dict[str, Any]], begin: tuple[str, ...], wing: str | None
) -> None:
    own = {**OWN, "drop_shot": 3, "lob": 3}
    told = advise(**{**ASKED, "own": own, "moment": "after-warm-up", "score": None}, observations=seen).look_for
    first, second, *_ = told
    for look in (first, second)[: 1 if seen is ONE_SPOT else 2]:
        assert look.what.startswith(begin)
        assert wing is None or look.wing == wing or wing in look.what


def test_of_three_looks_the_last_is_for_what_may_be_worth_most(advise: Advise) -> None:
    *_, last = advise(**{**ASKED, "moment": "after-warm-up", "score": None}, observations=WEAK_BACKHAND).look_for
    assert last.worth > 0


def test_a_question_that_was_answered_well_is_not_asked_again(advise: Advise) -> None:
    errors = [
        {"what": "rally.backhand_errors", "count": 90, "of": 200},
        {"what": "rally.forehand_errors", "count": 15, "of": 200},
        {"what": "rally.against_high_ball", "count": 10, "of": 120, "wing": "backhand"},
    ]
    beliefs = {(b.trait, b.wing): b.probability for b in advise(**ASKED, observations=errors).beliefs}
    assert beliefs["weak_high_backhand", Wing.BACKHAND] > 0.9
    traits = {(look.trait, look.wing) for look in advise(**ASKED, observations=errors).look_for}
    assert ("weak_high_backhand", Wing.BACKHAND) not in traits


def test_what_was_rated_or_named_in_this_set_is_not_asked_again_but_what_was_counted_may_be(
    adviser: Adviser, situation: Any
) -> None:
    rated = {"what": "rally.against_high_ball", "rating": 1, "wing": "backhand", "set": 1, "game": 2}
    counted = {"what": "rally.backhand_errors", "count": 4, "of": 9, "set": 1, "game": 2}
    first = situation(**ASKED, observations=[rated, counted])
    second = situation(**{**ASKED, "score": {**ASKED["score"], "sets": [[6, 3]]}}, observations=[rated, counted])
    gone = [set(adviser._looks._impossible(now)) for now in (first, second)]
    assert ["rally.against_high_ball" in names for names in gone] == [True, False]
    assert not any("rally.backhand_errors" in names for names in gone)


def test_the_more_firmly_a_thing_is_known_the_less_is_a_look_at_it_worth(advise: Advise, rulebook: Rulebook) -> None:
    first = next(look for look in advise(**ASKED).look_for if Way.COUNT in rulebook.kinds[look.what].ways)

    def worth(of: int) -> float:
        seen = [{"what": first.what, "count": of, "of": of}] if of else []
        looks = advise(**ASKED, observations=seen).look_for
        return next((look.worth for look in looks if (look.trait, look.wing) == (first.trait, first.wing)), 0.0)

    assert worth(30) < worth(0) == first.worth


def test_who_comes_in_often_is_looked_at_there(advise: Advise) -> None:
    often = [{"what": "net.approach", "count": 14, "of": 26}, {"what": "serve.followed_to_net", "count": 10, "of": 14}]
    assert not [name for name in asked(advise) if name.startswith("net.")]
    assert [name for name in asked(advise, observations=often) if name.startswith("net.")]


@pytest.mark.parametrize(("hurts", "aside"), [("on_return", "return"), ("on_serve", "serve")])
def test_looks_are_for_the_side_on_which_points_are_lost(advise: Advise, hurts: str, aside: str) -> None:
    well, badly = {"won": 15, "of": 25}, {"won": 3, "of": 25}
    played = {"on_serve": well, "on_return": well, hurts: badly}
    what = asked(advise, points_played=played)
    assert f"{aside}." not in {name[: len(aside) + 1] for name in what}


def test_a_stroke_that_is_not_owned_gives_nothing_to_look_for(advise: Advise) -> None:
    warm_up = {"moment": "after-warm-up", "score": None, "minutes_left": 4}
    with_slice, without = (
        {look.trait for look in advise(**{**ASKED, **warm_up, "own": own}).look_for}
        for own in (OWN, {**OWN, "slice_backhand": 0})
    )
    assert "weak_low_ball" in with_slice
    assert "weak_low_ball" not in without


def test_counts_that_tell_nothing_alone_are_answered_by_a_look_that_does(advise: Advise) -> None:
    after = {"moment": "after-warm-up", "score": None, "observations": FED}
    assert "warmup.middle_ball_on_forehand" in asked(advise, **after, minutes_left=4)
    assert "rally.forehand_errors" in asked(advise, **after)


def test_the_same_situation_has_the_same_looks(adviser: Adviser, rulebook: Rulebook, situation: Any) -> None:
    now = situation(**ASKED)
    assert adviser.recommend(now).look_for == Adviser(rulebook, adviser.matcher).recommend(now).look_for


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
