"""What the service asks to look at next."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from tacticapi.advice.looks import CHANGE, HAND, IN_WIND, WIND, games_played, looks_that_fit, phases_left
from tacticapi.domain.rules import USUAL_LEVEL, Touches
from tacticapi.domain.situation import Moment, Phase, Situation, Tries, Way, Wing
from tacticapi.evidence.gaussian import centre
from tacticapi.evidence.spots import KINDS
from tacticapi.rulebook.match_rules import read_firings

from ...builders import drawn, scored, tally

STROKES = ("serve_placement", "slice_backhand", "second_serve_kick", "volley", "approach")
OWN = {"handedness": "right", **dict.fromkeys(STROKES, 3)}
ASKED = {
    "moment": "change-of-ends",
    "own": OWN,
    "opponent": {"handedness": "right", "backhand_type": "two-handed"},
    "score": scored("2-1"),
}
WEAK_BACKHAND = [
    {"what": "warmup.high_backhand", "rating": 0},
    tally("warmup.backhand_made", 4, 14),
    tally("warmup.forehand_made", 12, 14),
]
FED = [{"what": "warmup.fed_backhand", "amount": 18}, {"what": "warmup.fed_forehand", "amount": 4}]


def asked(advise, **more):
    return [look.what for look in advise(**{**ASKED, **more}).look_for]


def of_phase(phase, what, rulebook):
    """Whether something is asked, and all of it is seen in this phase."""
    return bool(what) and all(phase in rulebook.kinds[name].phases for name in what)


def test_three_looks_of_different_kinds_that_decide_different_things(advise):
    looks = advise(**ASKED).look_for
    assert looks[0].worth > 0
    assert len(looks) == len({look.what for look in looks}) == len({look.decides[0] for look in looks}) == 3


def test_every_look_that_is_worth_something_says_between_which_tactics_it_decides(advise, rulebook):
    told = [
        look
        for moment, seen in product(Moment, ([], WEAK_BACKHAND, BAD_VOLLEYS))
        for look in advise(**{**ASKED, "moment": moment.value}, observations=seen).look_for
    ]
    assert len([look for look in told if look.worth > 0]) > 5
    for look in told:
        assert len(look.decides) == len({*look.decides}) <= 2
        assert look.decides or not look.worth
        assert all(rulebook.tactics[name].price for name in look.decides)


@pytest.mark.parametrize("moment", Moment)
def test_from_the_first_game_on_and_for_the_next_match_looks_are_for_games(advise, rulebook, moment):
    assert of_phase(Phase.GAMES, asked(advise, moment=moment, observations=WEAK_BACKHAND), rulebook)
    for more in ({"score": None}, {"score": None, "minutes_left": 0.2}):  # after a warm-up in which nothing fits
        assert of_phase(Phase.GAMES, asked(advise, moment="after-warm-up", **more), rulebook)


@pytest.mark.parametrize(
    ("server", "hidden", "kind"),
    [("own", "serve", "serve.unreturned_serves"), ("opponent", "return", "return.backhand_in")],
)
def test_between_points_only_what_the_next_point_can_show_is_asked_for(advise, server, hidden, kind):
    score = scored("2-1", points="15-0", server=server)
    for observations in ([], [tally(kind, 6, 9)]):
        what = asked(advise, moment="between-points", score=score, observations=observations)
        assert what
        assert not [name for name in what if name.startswith(f"{hidden}.")]


def test_what_takes_games_to_show_is_not_asked_for_before(adviser, rulebook, situation):
    rule, change = rulebook.defaults["looks"], "conduct.change_of_play"
    assert set(rule["games_before"]) | set(rule["or_tried"]) <= set(rulebook.kinds)
    early, later = (situation(**{**ASKED, "score": scored(games)}) for games in ("1-1", "3-2"))
    tried = replace(early, tries=(Tries("work-weaker-wing", 3, 1),))
    gone = [set(adviser._looks._impossible(now)) for now in (early, later, tried)]
    assert [change in names for names in gone] == [True, False, False]
    assert "pressure.closing" in gone[2]
    assert games_played(situation(**{**ASKED, "score": scored("2-1", "6-3")})) == 12


@pytest.mark.parametrize("moment", ["before-match", "between-points", "change-of-ends"])
def test_the_hand_is_asked_first_while_it_is_unknown_and_nothing_that_is_known(advise, moment):
    score = None if moment == "before-match" else ASKED["score"]
    assert asked(advise, moment=moment, score=score, opponent={})[0] == HAND
    assert not {HAND, "opponent.backhand_type"} & {*asked(advise, moment=moment, score=score)}


@pytest.mark.parametrize("more", [{"context": {"setting": "outdoor"}}, {"observations": FED}])
def test_nothing_takes_the_place_of_the_hand(advise, more):
    warm_up = {"moment": "after-warm-up", "score": None, "minutes_left": 0.5}
    assert asked(advise, **warm_up, opponent={}, **more) == [HAND]


@pytest.mark.parametrize(
    ("context", "asks", "looks"),
    [
        ({"setting": "outdoor"}, True, False),
        ({"setting": "outdoor", "wind": "none"}, False, False),
        ({"setting": "outdoor", "wind": "strong"}, False, True),
        ({"setting": "indoor"}, False, False),
        ({}, False, False),
    ],
)
def test_the_wind_is_asked_for_outdoors_until_it_is_known_and_play_in_it_is_looked_at_in_wind(
    adviser, situation, advise, context, asks, looks
):
    assert (WIND in asked(advise, context=context, moment="after-warm-up", score=None)) is asks
    assert WIND not in asked(advise, context=context)
    assert (IN_WIND not in adviser._looks._impossible(situation(**ASKED, context=context))) is looks


def test_without_wind_nothing_is_asked_about_it(advise):
    contexts = ({"setting": "indoor"}, {"setting": "outdoor", "wind": "none"}, {})
    moments = [moment.value for moment in Moment if moment is not Moment.AFTER_MATCH]
    for moment, context, seen in product(moments, contexts, ([], WEAK_BACKHAND)):
        what = asked(advise, moment=moment, context=context, observations=seen)
        assert "wind" not in " ".join(what), (moment, context)


def test_a_plan_that_pays_is_watched_for_their_answer_and_one_that_failed_is_asked_nothing_about(advise):
    def looks(tried, won):
        tries = [{"tactic": "work-weaker-wing", "tried": tried, "won": won, "set": 1, "game": 5}]
        return advise(**ASKED, tries=tries, plan={"tactic": "work-weaker-wing"}).look_for

    for tried, won, watched in ((12, 8, True), (4, 3, False), (12, 1, False)):
        assert (CHANGE in [look.what for look in looks(tried, won)]) is watched
    assert looks(16, 2)
    assert not any("work-weaker-wing" in look.decides for look in looks(16, 2))


@pytest.mark.parametrize(("minutes", "looks"), [(0.5, 1), (1.2, 2), (5, 3)])
def test_in_the_warm_up_as_many_looks_as_fit_in_the_order_of_the_warm_up(advise, rulebook, minutes, looks):
    net, stroke = ({"what": f"warmup.{what}_backhand", "rating": n} for n, what in enumerate(("volley", "high")))
    serve = {"what": "warmup.serve_spots", "counts": {"wide": 8, "body": 0, "T": 1}}
    stages = [[f"warmup.{key}" for key in stage] for stage in rulebook.defaults["looks"]["warm_up_order"]]
    named = [name for stage in stages for name in stage]
    assert len(named) == len(set(named))
    assert of_phase(Phase.WARM_UP, named, rulebook)
    for observations in ([], [net], [net, stroke, serve]):
        what = asked(advise, moment="after-warm-up", score=None, minutes_left=minutes, observations=observations)
        at = [next((n for n, stage in enumerate(stages) if name in stage), -1) for name in what]
        assert (len(what), at) == (looks, sorted(at))
        assert of_phase(Phase.WARM_UP, what, rulebook)


def test_minutes_left_matter_in_the_warm_up_only():
    during = Situation(Moment.CHANGE_OF_ENDS, minutes_left=1.0)
    warm_up = replace(during, moment=Moment.AFTER_WARM_UP)
    assert looks_that_fit(during, 0.5) is None
    assert looks_that_fit(warm_up, 0.5) == 2
    assert phases_left(warm_up, 2) == (Phase.WARM_UP,)
    assert phases_left(warm_up, 0) == phases_left(warm_up, None) == (Phase.GAMES,)


BAD_VOLLEYS = [{"what": f"warmup.{what}", "rating": n} for n, what in ((1, "volley_forehand"), (0, "volley_backhand"))]
BAD_VOLLEYS.append({"what": "warmup.smash_quality", "rating": 1})
TO_THE_T = {"what": "warmup.serve_spots", "counts": {"wide": 0, "body": 0, "T": 9}}
ONE_SPOT = [{**TO_THE_T, "court": court} for court in ("deuce", "ad")]


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


def worth_after(adviser, situation, rulebook, what, wing, of):
    """What a look is still worth once it was seen at the share that is usual, so that nothing has moved."""
    usual = rulebook.kinds[what].measures[0].usual[USUAL_LEVEL]
    posted = [tally(what, round(of * usual), of, **({"wing": wing} if wing else {}))] if of else []
    worth = worth_of_looks(adviser, situation(**ASKED, observations=posted))
    return worth.get((what, Wing(wing) if wing else None), 0.0)


@pytest.mark.parametrize(
    ("what", "wing"),
    [
        *((what, None) for what in ("rally.backhand_errors", "rally.forehand_errors", "return.backhand_in")),
        *((f"rally.against_{height}_ball", "backhand") for height in ("high", "low")),
    ],
)
def test_twenty_chances_let_a_question_fall_or_fall_away(adviser, rulebook, situation, what, wing):
    before, after = (worth_after(adviser, situation, rulebook, what, wing, of) for of in (0, 20))
    assert after < 0.75 * before


def test_a_question_that_was_answered_well_is_not_asked_again(advise):
    errors = [
        tally("rally.backhand_errors", 90, 200),
        tally("rally.forehand_errors", 15, 200),
        tally("rally.against_high_ball", 10, 120, wing="backhand"),
    ]
    beliefs = {(b.trait, b.wing): b.probability for b in advise(**ASKED, observations=errors).beliefs}
    assert beliefs["weak_high_backhand", Wing.BACKHAND] > 0.9
    assert not {one["what"] for one in errors} & {*asked(advise, observations=errors)}


def test_what_was_rated_or_named_in_this_set_is_not_asked_again_but_what_was_counted_may_be(adviser, situation):
    rated = {"what": "rally.against_high_ball", "rating": 1, "wing": "backhand", "set": 1, "game": 2}
    seen = [rated, tally("rally.backhand_errors", 4, 9, set=1, game=2)]
    for sets, again in (("", False), ("6-3", True)):
        gone = set(adviser._looks._impossible(situation(**{**ASKED, "score": scored("2-1", sets)}, observations=seen)))
        assert ("rally.against_high_ball" not in gone) is again
        assert "rally.backhand_errors" not in gone


def test_a_look_is_worth_what_a_simulation_of_the_same_players_says(adviser, situation):
    """Players drawn from what is known, each look drawn with its noise; the plan is made of what it then shows."""
    for seen in (WEAK_BACKHAND, [*BAD_VOLLEYS, tally("rally.forehand_errors", 7, 18)]):
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


def open_plays(adviser, now):
    """What is known, and what could be played: the rows of the price book, and the traits on which they rest."""
    reading = adviser._read(now)
    inference = adviser.matcher.match(reading.facts)
    return reading, adviser._looks._plays.open(read_firings(inference, adviser.rulebook), now.own, ())


def worth_of_looks(adviser, now):
    """What every look in games is worth, by kind and wing."""
    reading, plays = open_plays(adviser, now)
    known = reading.beliefs, reading.prices
    looks = adviser._looks._best(now, (Phase.GAMES,), *known, plays=plays, rates=reading.pricer.rates(), gone=())
    return {(look.what, look.wing): look.worth for look in looks}


def simulate(adviser, now, looks, times):
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


def plan(gains, parts):
    """The two best of each part of the game, if they gain."""
    total = np.zeros(len(gains))
    for part in Touches:
        of_part = np.maximum(gains[:, [n for n, one in enumerate(parts) if one is part]], 0.0)
        total += np.sort(of_part, axis=1)[:, -2:].sum(axis=1)
    return total
