"""What the service asks to look at next."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tacticapi.advice import Adviser
from tacticapi.advice.looks import CHANGE, HAND, IN_WIND, WIND, Plays, games_played, looks_that_fit, phases_left
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import Firings, Inference, RuleMatch
from tacticapi.domain.rules import (
    USUAL_LEVEL,
    Aim,
    Alternative,
    Condition,
    FactKind,
    Gate,
    Op,
    Price,
    Rulebook,
    Sent,
    Tactic,
    Test,
    Touches,
)
from tacticapi.domain.situation import Moment, Phase, Situation, Tries, Way, Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.gaussian import centre
from tacticapi.evidence.profile import Fit
from tacticapi.evidence.spots import KINDS
from tacticapi.pricing.price import PriceBook
from tacticapi.rulebook.match_rules import read_firings

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


def test_three_looks_of_different_kinds_that_decide_different_things(advise):
    looks = advise(**ASKED).look_for
    assert len(looks) == 3
    assert looks[0].worth > 0
    assert len({look.what for look in looks}) == len({look.decides[0] for look in looks}) == 3


def test_every_look_that_is_worth_something_says_between_which_tactics_it_decides(advise, rulebook):
    told = [look for moment in Moment for seen in ([], WEAK_BACKHAND, BAD_VOLLEYS)
            for look in advise(**{**ASKED, "moment": moment.value}, observations=seen).look_for]  # fmt: skip
    assert len([look for look in told if look.worth > 0]) > 5
    for look in told:
        assert len(look.decides) == len({*look.decides}) <= 2
        assert look.decides or not look.worth
        assert all(rulebook.tactics[name].price for name in look.decides)


def test_a_look_on_one_wing_says_which(advise, rulebook):
    told = [*advise(**ASKED).look_for, *advise(**ASKED, observations=WEAK_BACKHAND).look_for]
    on_one_wing = [look for look in told if look.decides and "wing" in rulebook.kinds[look.what].qualifiers]
    assert on_one_wing
    assert all(look.how.endswith(f"({look.wing})") for look in on_one_wing)
    assert {look.wing for look in told if look not in on_one_wing} == {None}


@pytest.mark.parametrize("moment", [moment for moment in Moment if moment is not Moment.AFTER_MATCH])
def test_from_the_first_game_on_looks_are_for_games(advise, rulebook, moment):
    what = asked(advise, moment=moment, observations=WEAK_BACKHAND)
    assert what
    assert all(Phase.GAMES in rulebook.kinds[name].phases for name in what)


def test_after_the_warm_up_the_looks_are_those_of_the_first_games(advise, rulebook):
    what = asked(advise, moment="after-warm-up", score=None)
    assert all(Phase.GAMES in rulebook.kinds[name].phases for name in what)
    after = asked(advise, moment="after-match")  # for the next match against them
    assert after
    assert all(Phase.GAMES in rulebook.kinds[name].phases for name in after)


@pytest.mark.parametrize(("server", "hidden"), [("own", "serve"), ("opponent", "return")])
def test_between_points_only_what_the_next_point_can_show_is_asked_for(advise, server, hidden):
    score = {**ASKED["score"], "points": ["15", "0"], "server": server}
    seen = [{"what": {"serve": "serve.unreturned_serves", "return": "return.backhand_in"}[hidden], "count": 6, "of": 9}]
    for observations in ([], seen):
        what = asked(advise, moment="between-points", score=score, observations=observations)
        assert what
        assert not [name for name in what if name.startswith(f"{hidden}.")]


def test_what_takes_games_to_show_is_not_asked_for_before(adviser, rulebook, situation):
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
def test_the_hand_is_asked_first_while_it_is_unknown(advise, moment):
    score = None if moment == "before-match" else ASKED["score"]
    assert asked(advise, moment=moment, score=score, opponent={})[0] == HAND
    assert HAND not in asked(advise, moment=moment, score=score)


@pytest.mark.parametrize("more", [{"context": {"setting": "outdoor"}}, {"observations": FED}])
def test_nothing_takes_the_place_of_the_hand(advise, more):
    warm_up = {"moment": "after-warm-up", "score": None, "minutes_left": 0.5}
    assert asked(advise, **warm_up, opponent={}, **more) == [HAND]


def test_what_is_known_of_the_opponent_is_not_asked_for(advise):
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
def test_the_wind_is_asked_for_outdoors_until_it_is_known(advise, context, asks):
    assert (WIND in asked(advise, context=context, moment="after-warm-up", score=None)) is asks
    assert WIND not in asked(advise, context=context)


def test_a_plan_that_pays_is_watched_for_their_answer_until_one_is_seen(advise):
    tries = [{"tactic": "work-weaker-wing", "tried": 12, "won": 8, "set": 1, "game": 5}]
    plan = {"tactic": "work-weaker-wing"}
    assert CHANGE in asked(advise, tries=tries, plan=plan)
    assert CHANGE not in asked(advise, tries=[tries[0] | {"tried": 4, "won": 3}], plan=plan)
    assert CHANGE not in asked(advise, tries=[tries[0] | {"won": 1}], plan=plan)


def test_nothing_is_asked_about_a_tactic_that_failed(advise):
    tries = [{"tactic": "work-weaker-wing", "tried": 16, "won": 2, "set": 1, "game": 5}]
    looks = advise(tries=tries, plan={"tactic": "work-weaker-wing"}).look_for
    assert looks
    assert not any("work-weaker-wing" in look.decides for look in looks)


@pytest.mark.parametrize("context", [{"setting": "indoor"}, {"setting": "outdoor", "wind": "none"}, {}])
@pytest.mark.parametrize("moment", [moment for moment in Moment if moment is not Moment.AFTER_MATCH])
def test_without_wind_nothing_is_asked_about_it(advise, moment, context):
    for seen in ([], WEAK_BACKHAND):
        assert not [what for what in asked(advise, moment=moment.value, context=context, observations=seen)
                    if "wind" in what]  # fmt: skip


def test_play_in_wind_is_looked_at_only_in_wind(adviser, situation):
    def impossible(**context: str) -> set[str]:
        return set(adviser._looks._impossible(situation(**ASKED, context=context)))

    assert IN_WIND not in impossible(setting="outdoor", wind="strong")
    for context in ({"setting": "outdoor", "wind": "none"}, {"setting": "outdoor"}, {"setting": "indoor"}):
        assert IN_WIND in impossible(**context)


@pytest.mark.parametrize(("minutes", "looks"), [(0.5, 1), (1.2, 2), (5, 3)])
def test_in_the_warm_up_as_many_looks_as_fit_in_the_order_of_the_warm_up(advise, rulebook, minutes, looks):
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


def test_every_stage_of_the_warm_up_names_kinds_of_the_warm_up(rulebook):
    named = [f"warmup.{key}" for stage in rulebook.defaults["looks"]["warm_up_order"] for key in stage]
    assert len(named) == len(set(named))
    assert all(Phase.WARM_UP in rulebook.kinds[name].phases for name in named)


def test_if_no_look_fits_any_more_the_games_are_next(advise, rulebook):
    what = asked(advise, moment="after-warm-up", score=None, minutes_left=0.2)
    assert len(what) == 3
    assert all(Phase.GAMES in rulebook.kinds[name].phases for name in what)


def test_minutes_left_matter_in_the_warm_up_only():
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
def test_the_first_games_confirm_what_the_warm_up_began_to_show(advise, seen, begin, wing):
    own = {**OWN, "drop_shot": 3, "lob": 3}
    told = advise(**{**ASKED, "own": own, "moment": "after-warm-up", "score": None}, observations=seen).look_for
    first, second, *_ = told
    for look in (first, second)[: 1 if seen is ONE_SPOT else 2]:
        assert look.what.startswith(begin)
        assert look.wing in (wing, None) or look is second


ANSWERED = [
    ("rally.backhand_errors", None),
    ("rally.forehand_errors", None),
    ("rally.against_high_ball", "backhand"),
    ("rally.against_low_ball", "backhand"),
    ("return.backhand_in", None),
]


@pytest.mark.parametrize(("what", "wing"), ANSWERED)
def test_twenty_chances_let_a_question_fall_or_fall_away(adviser, rulebook, situation, what, wing):
    """Counted at the share that is usual, so that it is answered and nothing has moved."""
    measure = rulebook.kinds[what].measures[0]
    seen = {"what": what, "count": 20 * measure.usual[USUAL_LEVEL], "of": 20, **({"wing": wing} if wing else {})}
    before, after = (worth_of_looks(adviser, situation(**ASKED, observations=posted)) for posted in ([], [seen]))
    key = (what, Wing(wing) if wing else None)
    assert after.get(key, 0.0) < 0.75 * before[key]


def test_a_question_that_was_answered_well_is_not_asked_again(advise):
    errors = [
        {"what": "rally.backhand_errors", "count": 90, "of": 200},
        {"what": "rally.forehand_errors", "count": 15, "of": 200},
        {"what": "rally.against_high_ball", "count": 10, "of": 120, "wing": "backhand"},
    ]
    beliefs = {(b.trait, b.wing): b.probability for b in advise(**ASKED, observations=errors).beliefs}
    assert beliefs["weak_high_backhand", Wing.BACKHAND] > 0.9
    assert not {one["what"] for one in errors} & {*asked(advise, observations=errors)}


def test_what_was_rated_or_named_in_this_set_is_not_asked_again_but_what_was_counted_may_be(adviser, situation):
    rated = {"what": "rally.against_high_ball", "rating": 1, "wing": "backhand", "set": 1, "game": 2}
    counted = {"what": "rally.backhand_errors", "count": 4, "of": 9, "set": 1, "game": 2}
    first = situation(**ASKED, observations=[rated, counted])
    second = situation(**{**ASKED, "score": {**ASKED["score"], "sets": [[6, 3]]}}, observations=[rated, counted])
    gone = [set(adviser._looks._impossible(now)) for now in (first, second)]
    assert ["rally.against_high_ball" in names for names in gone] == [True, False]
    assert not any("rally.backhand_errors" in names for names in gone)


def test_the_more_firmly_a_thing_is_known_the_less_is_a_look_at_it_worth(advise, adviser, situation, rulebook):
    first = next(look for look in advise(**ASKED).look_for if Way.COUNT in rulebook.kinds[look.what].ways)
    usual = rulebook.kinds[first.what].measures[0].usual[USUAL_LEVEL]

    def worth(of: int) -> float:
        posted = {"what": first.what, "count": of * usual, "of": of, **({"wing": first.wing} if first.wing else {})}
        return worth_of_looks(adviser, situation(**ASKED, observations=[posted] if of else [])).get(
            (first.what, first.wing), 0.0
        )

    assert worth(60) < worth(20) < worth(0) == first.worth


def test_a_look_is_worth_what_a_simulation_of_the_same_players_says(adviser, situation):
    """Players drawn from what is known, each look drawn with its noise; the plan is made of what it then shows."""
    for seen in (WEAK_BACKHAND, [*BAD_VOLLEYS, {"what": "rally.forehand_errors", "count": 7, "of": 18}]):
        now = situation(**{**ASKED, "own": {**OWN, "drop_shot": 3, "lob": 3}}, observations=seen)
        told = worth_of_looks(adviser, now)
        best = [key for key in sorted(told, key=lambda key: -told[key]) if key[0] not in KINDS][:10]
        for key, worth in simulate(adviser, now, best, 50_000).items():
            assert told[key] == pytest.approx(worth, rel=0.1, abs=2e-4), key


@pytest.mark.parametrize(("hurts", "aside"), [("on_return", "return"), ("on_serve", "serve")])
def test_looks_are_for_the_side_on_which_points_are_lost(advise, hurts, aside):
    well, badly = {"won": 15, "of": 25}, {"won": 3, "of": 25}
    played = {"on_serve": well, "on_return": well, hurts: badly}
    what = asked(advise, points_played=played)
    assert f"{aside}." not in {name[: len(aside) + 1] for name in what}


def test_a_stroke_that_is_not_owned_gives_nothing_to_look_for(advise):
    warm_up = {"moment": "after-warm-up", "score": None, "minutes_left": 4}
    with_slice, without = (
        {name for look in advise(**{**ASKED, **warm_up, "own": own}).look_for for name in look.decides}
        for own in (OWN, {**OWN, "slice_backhand": 0})
    )
    assert "low-slice-to-low-ball-weakness" in with_slice
    assert "low-slice-to-low-ball-weakness" not in without


def test_counts_that_tell_nothing_alone_are_answered_by_a_look_that_does(advise):
    after = {"moment": "after-warm-up", "score": None, "observations": FED}
    assert "warmup.middle_ball_on_forehand" in asked(advise, **after, minutes_left=4)
    assert {"rally.forehand_errors", "rally.backhand_errors"} & {*asked(advise, **after)}


def test_the_same_situation_has_the_same_looks(adviser, rulebook, situation):
    now = situation(**ASKED)
    assert adviser.recommend(now).look_for == Adviser(rulebook, adviser.matcher).recommend(now).look_for


# Ways of playing that are open ---------------------------------------------------------------------------------------

LIKELY = (Test("permille", Op.AT_LEAST, 700),)
AT_A_WING = Price(Touches.BOTH, 0.3, (Sent("low", 1.0, "rally-mix", Aim.AIMED),))


def open_rows(
    rulebook: Rulebook, evidence: EvidenceModel, tactic: Tactic, *, own: dict[str, int], counters: tuple[int, ...] = ()
) -> set[Wing | None]:
    book = PriceBook(replace(rulebook, tactics={tactic.id: tactic}), evidence.profiles)
    inference = Inference((RuleMatch(f"candidate/{tactic.id}/0", ()),), {}, "evaluator")
    firings = Firings({}, {tactic.id: counters} if counters else {})
    return {book.rows[row][1] for row in Plays(book.rulebook, book).open(inference, firings, own)[0]}


@pytest.mark.parametrize(("wing", "wings"), [(None, {*Wing}), ("forehand", {Wing.FOREHAND})])
def test_a_weakness_on_either_wing_may_be_played_to_on_either_and_one_that_is_named_there(
    rulebook, evidence, tactic, wing, wings
):
    named = (Test("wing", Op.IS, wing),) if wing else ()
    when = (Alternative((Condition(FactKind.BELIEF, "weak_low_ball", (*LIKELY, *named)),)),)
    ours = replace(tactic("ours"), when=when, price=AT_A_WING)
    assert open_rows(rulebook, evidence, ours, own={}) == wings


def test_what_one_cannot_hit_or_what_something_speaks_against_is_not_open(rulebook, evidence, tactic):
    ours = tactic("ours", needs=(Gate(("volley",), 2),))
    assert open_rows(rulebook, evidence, ours, own={"volley": 2}) == {None}
    assert open_rows(rulebook, evidence, ours, own={"volley": 1}) == set()
    assert open_rows(rulebook, evidence, ours, own={"volley": 2}, counters=(0,)) == set()


# A simulation of looks, without the arithmetic of the code ------------------------------------------------------------


def open_plays(adviser: Adviser, now: Situation) -> tuple[Any, Any]:
    """What is known, and what could be played: the rows of the price book, and the traits on which they rest."""
    reading = adviser._read(now)
    inference = adviser.matcher.match(reading.facts)
    return reading, adviser._looks._plays.open(inference, read_firings(inference, adviser.rulebook), now.own)


def worth_of_looks(adviser: Adviser, now: Situation) -> dict[tuple[str, Wing | None], float]:
    """What every look in games is worth, by kind and wing."""
    reading, plays = open_plays(adviser, now)
    looks = adviser._looks._best(
        now, (Phase.GAMES,), reading.beliefs, reading.prices, plays=plays, rates=reading.pricer.rates(), gone=()
    )
    return {(look.what, look.wing): look.worth for look in looks}


def simulate(
    adviser: Adviser, now: Situation, looks: list[tuple[str, Wing | None]], times: int
) -> dict[tuple[str, Wing | None], float]:
    reading, (rows, _) = open_plays(adviser, now)
    rates = reading.pricer.rates()
    rulebook, prices, fit = adviser.rulebook, reading.prices, reading.beliefs.opponent
    latent, figures = fit.latent, rulebook.defaults["profile"]
    draw = np.random.default_rng(11)
    players = drawn(fit, times, draw)
    scale = np.array([prices.book.share[row] * rates[prices.book.of[row].points] for row in rows])
    parts = [prices.book.of[row].points for row in rows]
    today = prices.mean[rows] * np.array([rates[part] for part in parts])
    truth = players @ prices.slopes[rows].T * scale
    found = {}
    for what, wing in looks:
        kind = rulebook.kinds[what]
        measure = kind.measures[0]
        vector, spread = latent.summed(measure, wing)
        if measure.usual and {Way.COUNT, Way.COUNTS} & {*kind.ways}:
            at = centre(measure.usual[latent.level], spread)
            share = 1 / (1 + np.exp(-(at + (players @ vector).mean())))
            noise, slope = figures["tau"]["miscount"] ** 2 + 1 / (6 * share * (1 - share)), 1.0
        elif {Way.RATING, Way.AMOUNT} & {*kind.ways}:
            noise, slope = figures["rating"]["noise"] ** 2, figures["rating"]["spread"] / spread
        else:
            noise = 4 / figures["word"]["weight"]
            slope = figures["rating"]["spread"] * figures["word"]["slope"] / spread
        shown = slope * players @ vector + draw.normal(0, np.sqrt(noise), times)
        shown = (shown - shown.mean()) / shown.std()
        after = today + shown[:, np.newaxis] * (truth * shown[:, np.newaxis]).mean(axis=0)
        found[what, wing] = plan(after, parts).mean() - plan(today[np.newaxis], parts)[0]
    return found


def plan(gains: Any, parts: list[Touches]) -> Any:
    """The two best of each part of the game, if they gain."""
    total = np.zeros(len(gains))
    for part in Touches:
        of_part = np.maximum(gains[:, [n for n, one in enumerate(parts) if one is part]], 0.0)
        total += np.sort(of_part, axis=1)[:, -2:].sum(axis=1)
    return total


def drawn(fit: Fit, times: int, draw: np.random.Generator) -> Any:
    """Players from a posterior, its covariance taken from the variances of sums of two latent values."""
    each = np.eye(len(fit.latent.dims))
    means, variances, _ = fit.of(each)
    pairs = np.array([fit.of(each + one)[1] for one in each])
    covariance = (pairs - variances - variances[:, np.newaxis]) / 2
    np.fill_diagonal(covariance, variances)
    return draw.multivariate_normal(means, covariance, times, method="cholesky")
