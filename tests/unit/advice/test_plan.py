"""Keep, adjust or change: what is being played, what is said of it, and by which numbers."""

from dataclasses import replace
from functools import partial

import pytest

from tacticapi.advice.plan import BALL_MAKING, BETTER_PLAY, LOSING, OWN_ERRORS, WINNING, verdict
from tacticapi.domain.situation import Chosen, Moment, OwnErrors, PointsPlayed, Situation, Tries, Verdict, chosen
from tacticapi.pricing.baseline import Judged

from ...builders import scored, tally

RALLY, SERVE = "work-weaker-wing", "serve-to-hidden-wing"
WEAK_BACKHAND = [tally(f"rally.{wing}_errors", n, 20, set=1, game=3) for wing, n in (("backhand", 9), ("forehand", 3))]


def tried(*counts, **when):
    """Tries of the rally tactic: (won, of)."""
    return [{"tactic": RALLY, "won": won, "tried": of, **when} for won, of in counts]


def points(won, of):
    return {"on_serve": {"won": won, "of": of}, "on_return": {"won": 0, "of": 0}}


def plan_of(advice):
    assert advice.plan is not None
    return advice.plan


def shown(advice):
    return [line.tactic for line in advice.suggestions]


@pytest.mark.parametrize(
    ("tries", "plan"),
    [
        ((), None),
        ((Tries("a", 3, 1), Tries("b", 8, 4)), Chosen("b")),
        ((Tries("a", 9, 5, 1, 2), Tries("b", 2, 1, 1, 4)), Chosen("b", (1, 4))),
        ((Tries("a", 9, 5, 1, 2), Tries("b", 2, 1, 1, 4), Tries("b", 2, 1, 1, 5)), Chosen("b", (1, 4))),
        ((Tries("b", 2, 1, 1, 1), Tries("a", 2, 1, 1, 3), Tries("b", 2, 1, 1, 5)), Chosen("b", (1, 5))),
        ((Tries("b", 2, 1, 1, 4), Tries("a", 5, 1, 1, 5), Tries("b", 2, 1, 1, 5)), Chosen("a", (1, 5))),
        ((Tries("a", 9, 5, 1, 5), Tries("b", 0, 0, 1, 6)), Chosen("b", (1, 6))),
        ((Tries("b", 0, 0, 1, 4), Tries("a", 9, 5, 1, 5)), Chosen("b", (1, 4))),
        ((Tries("b", 0, 0), Tries("a", 0, 0)), Chosen("a")),
    ],
)
def test_the_plan_is_what_was_posted_else_chosen_last_else_tried_last(tries, plan):
    asked = Situation(Moment.CHANGE_OF_ENDS, tries=tries)
    assert chosen(asked) == plan
    posted = Chosen("posted", (1, 2))
    assert chosen(replace(asked, plan=posted)) == posted


COUNTED = Situation(Moment.SET_BREAK, points_played=PointsPlayed(5, 12, 2, 9), own_errors=OwnErrors(10, 14))
POINTS, ERRORS = "you won 7 of 21 points", "10 of the 14 points you lost were your own errors"
COUNTS = "3 of 8 points won with it, 48 in 100 without"


def judged(sd_below, tried=8, won=3):
    """Tries whose gain lies so many standard deviations below nought."""
    return Judged("a", tried, won, 0.48, -0.1 * sd_below, 0.1)


@pytest.mark.parametrize(
    ("told", "holding", "word", "why"),
    [
        (judged(1.0), (), Verdict.CHANGE, f"{COUNTS}: it clearly does worse than playing without it"),
        (judged(1.0), (WINNING,), Verdict.CHANGE, f"{COUNTS}: it clearly does worse than playing without it"),
        (judged(1.0), (OWN_ERRORS, LOSING), Verdict.CHANGE, f"{COUNTS}: it clearly does worse than playing without it"),
        (judged(0.5), (), Verdict.ADJUST, f"{COUNTS}: use it less until it pays"),
        (judged(0.5), (WINNING,), Verdict.KEEP, f"{POINTS}: keep a winning game; {COUNTS}"),
        (judged(0.2), (), Verdict.KEEP, f"{COUNTS}: not clearly worse"),
        (judged(-0.2, won=4), (), Verdict.KEEP, f"{COUNTS.replace('3', '4', 1)}: better so far"),
        (judged(-1.0), (), Verdict.KEEP, f"{COUNTS}: it pays"),
        (judged(1.0, 7), (), Verdict.KEEP, f"{COUNTS.replace('8', '7', 1)}: too few tries to tell (at least 8 needed)"),
        (None, (), Verdict.KEEP, "no points marked as played by the plan yet; no reason to change it"),
        (None, (WINNING, OWN_ERRORS), Verdict.KEEP, f"{POINTS}: keep a winning game"),
        (None, (OWN_ERRORS, LOSING), Verdict.ADJUST, f"{ERRORS}: {BALL_MAKING}"),
        (None, (LOSING,), Verdict.ADJUST, f"{POINTS}; change one simple thing, such as height or depth"),
        (None, (LOSING, BETTER_PLAY), Verdict.CHANGE, f"{POINTS}, and only {ERRORS}: they are playing better"),
        (None, (BETTER_PLAY,), Verdict.KEEP, "no points marked as played by the plan yet; no reason to change it"),
    ],
)  # fmt: skip
def test_the_verdict_and_its_reason(rulebook, told, holding, word, why):
    found = verdict(COUNTED, told, frozenset(holding), rulebook)
    assert found == (word, why)
    assert len(why.split()) <= 25


@pytest.mark.parametrize(
    ("won", "of", "word"),
    [
        *((won, of, Verdict.KEEP) for won, of in ((0, 4), (0, 7), (6, 12), (16, 24))),
        *((won, of, Verdict.CHANGE) for won, of in ((0, 8), (1, 12))),
    ],
)
def test_a_plan_is_changed_and_shown_no_more_only_by_eight_tries_that_clearly_lose(advise, won, of, word):
    plan = plan_of(advise(tries=tried((won, of))))
    assert (plan.verdict, plan.tactic, plan.tried, plan.won) == (word, RALLY, of, won)
    firm = advise(observations=WEAK_BACKHAND, tries=tried((won, of)), limit=10)
    assert plan_of(firm).verdict is not Verdict.CHANGE or RALLY not in shown(firm)


def test_three_of_twelve_are_enough_once_they_have_changed_their_play_against_it(advise):
    changed = [*WEAK_BACKHAND, {"what": "conduct.change_of_play", "seen": True, "set": 1, "game": 5}]
    tries = tried((13, 20), set=1, game=4) + tried((3, 12), set=1, game=7)
    played = {"on_serve": {"won": 30, "of": 52}, "on_return": {"won": 22, "of": 50}}
    for seen, word in ((changed, Verdict.CHANGE), (WEAK_BACKHAND, Verdict.KEEP)):
        assert plan_of(advise(tries=tries, observations=seen, points_played=played)).verdict is word


def test_what_was_lost_long_ago_does_not_judge_what_was_won_since(advise):
    tries = tried((4, 16), set=1, game=3) + tried((17, 24), set=2, game=5)
    plan = plan_of(advise(tries=tries, plan={"tactic": RALLY, "since": {"set": 2, "game": 1}}))
    assert (plan.verdict, plan.tried, plan.won, plan.since) == (Verdict.KEEP, 24, 17, (2, 1))


def test_once_their_play_has_changed_the_plan_has_to_show_itself_again(advise):
    changed = [*WEAK_BACKHAND, {"what": "conduct.change_of_play", "seen": True, "set": 1, "game": 5}]
    plan = plan_of(advise(observations=changed, tries=tried((13, 26))))
    assert (plan.verdict, plan.tactic, plan.tried) == (Verdict.ADJUST, RALLY, 0)
    assert plan.why == "their play has changed: 13 of 26 points won before, not tried since"
    again = tried((13, 26)) + tried((6, 9), set=1, game=6)
    assert plan_of(advise(observations=changed, tries=again)).verdict is Verdict.KEEP


def test_misses_that_are_posted_move_the_verdict(advise):
    """The same tries are judged by where the posterior begins, which is the price."""
    few = [tally(f"rally.{wing}_errors", 1, 30) for wing in ("backhand", "forehand")]
    many = [tally("rally.backhand_errors", 14, 30), few[1]]
    words = [plan_of(advise(tries=tried((4, 12)), observations=seen)).verdict for seen in (few, many)]
    order = [Verdict.KEEP, Verdict.ADJUST, Verdict.CHANGE]
    assert order.index(words[0]) > order.index(words[1])


def test_a_plan_that_is_kept_stands_first_with_its_count_and_little_beside_it(advise, rulebook):
    advice = advise(observations=WEAK_BACKHAND, tries=tried((9, 15)), points_played=points(12, 24))
    assert plan_of(advice).verdict is Verdict.KEEP
    assert shown(advice)[0] == RALLY
    assert advice.suggestions[0].because[0].text.startswith("tried 15 times, 9 won")
    reminders = [line for line in shown(advice)[1:] if rulebook.tactics[line].price is None]
    assert len(reminders) <= 1


def test_a_set_and_four_one_up_the_plan_is_shown_and_nothing_new(advise, rulebook):
    score = scored("4-1", "6-0")
    played = {"on_serve": {"won": 22, "of": 28}, "on_return": {"won": 18, "of": 30}}
    advice = advise(observations=WEAK_BACKHAND, tries=tried((19, 27)), score=score, points_played=played)
    assert shown(advice)[0] == RALLY
    assert not [line for line in shown(advice)[1:] if rulebook.tactics[line].price]


def test_a_condemned_tactic_is_out_and_what_comes_next_is_named(advise):
    advice = advise(observations=WEAK_BACKHAND, tries=tried((3, 30)), points_played=points(14, 40), limit=5)
    plan = plan_of(advice)
    assert plan.verdict is Verdict.CHANGE
    assert RALLY not in shown(advice)
    assert plan.next in shown(advice)
    assert any(held.tactic == RALLY and "drop it" in held.why for held in advice.held_back)


def test_a_variation_of_the_plan_may_stand_beside_it(advise):
    advice = advise(
        own={"change_direction": 3},
        observations=[*WEAK_BACKHAND, {"what": "conduct.change_of_play", "seen": True, "set": 1, "game": 4}],
        plan={"tactic": RALLY, "since": {"set": 1, "game": 1}},
        tries=tried((8, 12), set=1, game=3) + tried((3, 5), set=1, game=5),
        limit=5,
    )
    assert plan_of(advice).tried == 5
    assert shown(advice).index(RALLY) < shown(advice).index("change-pattern-not-ball")


def test_a_plan_that_may_not_be_hit_now_is_not_shown(advise):
    volley = [{"tactic": "serve-and-volley-change", "tried": 9, "won": 6}]
    assert "serve-and-volley-change" not in shown(advise(tries=volley, own={"volley": 0, "approach": 0}))


def test_what_was_dropped_does_not_say_that_the_plan_loses(advise):
    dropped = {"tactic": "cross-court-home", "tried": 37, "won": 12, "set": 1, "game": 10}
    pays = {"tactic": RALLY, "tried": 12, "won": 9, "set": 2, "game": 3}
    plan = {"tactic": RALLY, "since": {"set": 2, "game": 1}}
    lines = shown(advise(tries=[dropped, pays], plan=plan, limit=5))
    assert lines[0] == RALLY
    assert "change-losing-game-keep-winning-game" not in lines


def test_after_the_match_what_worked_comes_before_what_was_never_tried(advise):
    beaten = [{"tactic": "come-in-behind-short-ball", "tried": 16, "won": 12}]
    own = {"volley": 3, "approach": 3, "serve_placement": 3}
    assert shown(advise(moment="after-match", tries=tried((9, 15))))[0] == RALLY
    assert shown(advise(moment="after-match", tries=beaten, own=own))[0] == "come-in-behind-short-ball"
    assert RALLY not in shown(advise(moment="after-match", tries=tried((2, 15))))


def test_a_proven_plan_stays_if_points_are_lost_elsewhere(advise):
    played = {"on_serve": {"won": 14, "of": 33}, "on_return": {"won": 14, "of": 31}}
    errors = {"unforced": 20, "of": 36}
    asked = partial(advise, points_played=played, own_errors=errors)
    assert plan_of(asked(tries=tried((5, 12)))).verdict is Verdict.ADJUST
    assert plan_of(asked(tries=tried((12, 15)))).verdict is Verdict.KEEP


def test_between_points_the_plan_is_shown_where_the_next_point_can_be_played_by_it(advise):
    def at(tactic, server):
        score = scored("2-2", points="15-15", server=server)
        return shown(advise(moment="between-points", score=score, plan={"tactic": tactic}, own={"serve_placement": 3}))

    assert at(RALLY, "own") == at(RALLY, "opponent") == [RALLY]
    assert at(SERVE, "own") == [SERVE]
    assert SERVE not in at(SERVE, "opponent")
