"""One whole answer: the same every time, short, honest about what it left out, and clear about why."""

from itertools import pairwise

import pytest

from tacticapi.advice.safety import DEFAULTS, NO_HAND, NO_WIND_END, NOT_A_CHANGE
from tacticapi.domain.situation import HeldBack, Moment, Show, Wing

from ...benchmarks import warm_up
from ...builders import scored, tally

STROKES = """serve_placement second_serve_kick forehand_weapon slice_backhand topspin_height volley approach lob
overhead drop_shot passing_shot return_block return_attack change_direction short_angle ball_pace depth patience"""
ABLE = {"handedness": "right", **dict.fromkeys(STROKES.split(), 3)}
SEEN = [
    tally("rally.against_low_ball", 2, 12, wing="backhand", set=1, game=3),
    tally("rally.ran_round_backhand", 9, 11, set=1, game=3),
    tally("return.backhand_in", 3, 12, set=1, game=2),
    tally("net.brought_in", 1, 7, set=1, game=3),
    {"what": "warmup.second_serve_shown", "value": "slow"},
    tally("serve.second_serve_points_won", 2, 9, set=1, game=2),
]
LOW_SLICE = "low-slice-to-low-ball-weakness"
ASKED = {
    "context": {"surface": "hard", "coaching": "permitted", "device": "coach"},
    "own": ABLE,
    "opponent": {"handedness": "right", "backhand_type": "two-handed"},
    "observations": SEEN,
    "score": scored("2-1", server="opponent"),
}


def shown(advice):
    return [s.tactic for s in advice.suggestions]


def test_the_order_of_the_observations_ranks_nothing(advise):
    forwards, backwards = (advise(**{**ASKED, "observations": seen, "limit": 10}) for seen in (SEEN, SEEN[::-1]))
    assert shown(forwards) == shown(backwards)
    gains = [[s.worth.match for s in advice.suggestions if s.worth] for advice in (forwards, backwards)]
    assert gains[0]
    assert gains[0] == pytest.approx(gains[1], rel=1e-9)  # sums in another order
    chances = [[b.probability for b in advice.beliefs] for advice in (forwards, backwards)]
    assert chances[0] == pytest.approx(chances[1], rel=1e-9)


def test_a_posted_limit_stands_above_that_of_the_moment(advise):
    most = shown(advise(**ASKED, limit=10))
    for limit in (1, 4, 10):
        advice = advise(**ASKED, limit=limit)
        assert [line.rank for line in advice.suggestions] == list(range(1, limit + 1))
        assert shown(advice) == most[:limit]


@pytest.mark.parametrize("level", ["tour", "club"])
def test_all_that_is_shown_together_claims_no_more_than_the_cap_of_the_level(advise, rulebook, level):
    opponent = {**ASKED["opponent"], "level": level}
    told = advise(**{**ASKED, "opponent": opponent}, limit=10).suggestions
    total = sum(max(0.0, line.worth.point) for line in told if line.worth)
    cap = rulebook.defaults["prices"]["together"][level]
    assert 0.3 * cap < total <= cap + 1e-9


def test_lines_have_a_place_and_gains_are_shown_best_first(advise, rulebook):
    """Only a reminder that presses may stand among gains, before the small ones."""
    told = advise(**ASKED, limit=10).suggestions
    kinds = [rulebook.tactics[line.tactic].show for line in told]
    first_and_due = [show for show in kinds if show in (Show.FIRST, Show.DUE)]
    assert kinds[: len(first_and_due)] == sorted(first_and_due, key=(Show.FIRST, Show.DUE).index)
    gains = [line.worth.match for line in told if line.worth]
    assert len(gains) > 3
    # the order is by the slope of the match chance, which is not quite straight
    assert all(better >= 0.98 * other for better, other in pairwise(gains))
    last_gain = max(n for n, show in enumerate(kinds) if show is Show.GAIN)
    before = [rulebook.tactics[line.tactic] for line in told[:last_gain]]
    assert all(one.order <= 2 for one in before if one.show is Show.REMINDER)


@pytest.mark.parametrize("moment", Moment)
def test_every_suggestion_says_when_to_stop_and_who_says_so_and_claims_a_gain_only_if_it_sends_a_ball(
    advise, rulebook, moment
):
    advice = advise(**ASKED, moment=moment.value, limit=10)
    assert advice.notice[-1] == DEFAULTS
    assert not set(shown(advice)) & set(held(advice))
    for suggestion in advice.suggestions:
        assert suggestion.say
        assert suggestion.not_if
        assert suggestion.stop_when
        assert (suggestion.worth is None) is (rulebook.tactics[suggestion.tactic].price is None)
        assert suggestion.worth is None or suggestion.worth.match_low <= suggestion.worth.match_high
        cited = suggestion.source.key
        assert (suggestion.source.status == "common practice") if cited is None else (cited in rulebook.sources)


def test_reasons_point_at_what_was_posted_in_the_words_of_counts(advise):
    advice = advise(**{**ASKED, "observations": [{**o, "ref": f"note-{n}"} for n, o in enumerate(SEEN)]}, limit=10)
    reasons = [r for s in advice.suggestions for r in s.because if r.observation is not None]
    assert len(reasons) > 4
    for reason in reasons:
        posted = SEEN[reason.observation or 0]
        assert (reason.what, reason.ref) == (posted["what"], f"note-{reason.observation}")
        assert all(posted[name] == value for name, value in reason.said.items())
        assert "of" not in posted or f"{posted['count']} of {posted['of']}" in reason.text
    rests_on = [(s.tactic, r) for s in advice.suggestions for r in s.rests_on]
    assert {r.read for _, r in rests_on} <= {"glimpse", "hint", "working read", "firm read"}
    (low,) = (r for tactic, r in rests_on if tactic == LOW_SLICE)
    assert (low.trait, low.wing) == ("weak_low_ball", Wing.BACKHAND)
    assert low.read in ("working read", "firm read")


@pytest.mark.parametrize(("games", "told"), [("1-1", True), ("2-2", True), ("2-1", False), ("0-1", False)])
def test_a_change_of_ends_after_an_even_number_of_games_is_remarked_on(advise, games, told):
    assert (NOT_A_CHANGE in advise(score=scored(games)).notice) is told
    assert NOT_A_CHANGE not in advise(moment="between-points", score=scored(games)).notice


def test_an_unknown_hand_and_a_wind_without_direction_are_remarked_on(advise):
    assert NO_HAND in advise().notice
    assert NO_HAND not in advise(opponent={"handedness": "left"}).notice
    known = {"strength": "strong", "direction": {"north": "with", "south": "against"}}
    for wind, told in (("strong", True), (known, False), ("light", False)):
        assert (NO_WIND_END in advise(context={"wind": wind}).notice) is told


def held(advice):
    return {h.tactic: (h.reason, h.why) for h in advice.held_back}


@pytest.mark.parametrize(
    ("tactic", "wire", "reason", "why"),
    [
        (LOW_SLICE, {"own": {**ABLE, "slice_backhand": 1}}, HeldBack.OWN_ABILITY,
         "needs slice 2 or more; slice is rated 1"),
        ("serve-to-hidden-wing", {"own": {"handedness": "right"}}, HeldBack.OWN_ABILITY,
         "needs serve placement 2 or more; your serve placement is not rated"),
        ("attack-second-serve", {"observations": [*SEEN, tally("record.returns_in", 2, 10, serve="second")]},
         HeldBack.COUNTER_INDICATION, "you are missing too many second-serve returns"),
        ("serve-to-hidden-wing",
         {"observations": [*SEEN, tally("return.early_lean", 8, 10, wing="backhand")], "limit": 10},
         HeldBack.CONFLICT, ""),
        (LOW_SLICE, {"moment": "between-points"}, HeldBack.MOMENT, ""),
    ],
)  # fmt: skip
def test_what_is_held_back_has_its_reason(adviser, situation, tactic, wire, reason, why):
    asked = situation(**{**ASKED, **wire})
    found = held(adviser.recommend(asked))[tactic]
    assert (found[0], found[1].startswith(why)) == (reason, True)
    assert answer(adviser, asked, tactic)[0] == "held-back"
    assert why in answer(adviser, asked, tactic)[1]


@pytest.mark.parametrize(
    ("wire", "seen", "why"),
    [
        ({"moment": "after-warm-up"}, tally("rally.ran_round_backhand", 1, 2), "wrong phase"),
        ({"context": {"wind": "strong"}}, tally("rally.forehand_errors", 1, 2), "no end"),
        ({}, {"what": "warmup.energy", "value": "normal"}, "no effect"),
        ({}, tally("rally.ran_round_backhand", 0, 0), "no chances seen"),
    ],
)
def test_an_observation_that_moved_nothing_is_named_with_the_reason(advise, wire, seen, why):
    useful = {"what": "warmup.second_serve_shown", "value": "slow"}
    advice = advise(**wire, observations=[useful, {**seen, "ref": "mine"}])
    assert [(u.observation, u.what, u.ref) for u in advice.unused] == [(1, seen["what"], "mine")]
    assert advice.unused[0].why.startswith(why)


def test_a_count_without_its_wing_counts_half_on_each(advise):
    advice = advise(observations=[tally("rally.against_low_ball", 1, 9)])
    low = [b for b in advice.beliefs if b.trait == "weak_low_ball"]
    assert advice.unused == ()
    assert [b.wing for b in low] == [Wing.FOREHAND, Wing.BACKHAND]
    assert all(b.probability > b.prior + 0.1 for b in low)


def answer(adviser, asked, tactic):
    (told,) = adviser.trace(asked, tactic).questions
    return told.verdict, told.why


def test_a_weakness_of_which_nothing_was_seen_is_named_with_its_chance_and_a_missing_stroke(adviser, situation):
    verdict, why = answer(adviser, situation(own=ABLE), "kick-second-serve-to-high-ball-weakness")
    assert verdict == "no-match"
    assert "weak against high balls" in why
    assert "it is at 0.35" in why
    assert "at 0.20 or more" not in why  # what is missing is that something was seen of it
    assert "your attacking return is not rated" in answer(adviser, situation(), "attack-second-serve")[1]


def test_a_tactic_that_does_not_pay_is_not_said_to_lack_a_place(adviser, situation):
    """A few misses raise many weaknesses a little."""
    few = [tally(f"rally.{wing}_errors", 3, 9) for wing in ("forehand", "backhand")]
    asked = situation(**{**ASKED, "observations": few}, limit=10)
    prices = adviser._read(asked).prices
    crowded = [q for q in adviser.trace(asked).questions if q.why.endswith("other tactics came first")]
    lacking = [q.tactic for q in crowded if adviser.rulebook.tactics[q.tactic].price]
    assert [name for name in lacking if prices.mean[prices.best(name)] <= 0.0] == []


def test_following_the_looks_finds_the_weaker_wing_with_fewer_balls(adviser):
    result = warm_up.experiment(adviser, 100, seed=7)
    assert 0 < result.looks < result.fixed
    assert result.saving == pytest.approx(result.fixed - result.looks)
    assert result.saving > result.half_width > 0  # the whole 95 % interval lies above nothing saved
