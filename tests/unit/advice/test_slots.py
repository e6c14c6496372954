"""What a line names: the wing and the serves that reach it, favourite serves by court, the court to return in."""

import pytest

from tacticapi.advice.suggestions import unnamed

from ...builders import scored, spots, tally

NO_AD = {"format": {"sets": 3, "no_ad": True}}
DECIDING = scored("3-3", points="40-40", server="opponent")


@pytest.mark.parametrize(
    ("deuce", "ad", "say"),
    [
        ((11, 12), (5, 12), "Take the deuce court: "),
        ((4, 10), (9, 10), "Take the ad court: "),
        ((8, 12), (8, 12), "Your choice of court"),  # where the counts do not tell
        ((4, 4), (2, 12), "Your choice of court"),
        ((9, 10), (8, 10), "Your choice of court"),
    ],
)
def test_on_a_deciding_point_the_court_is_named_with_both_counts(advise, deuce, ad, say):
    counts = {"deuce": deuce, "ad": ad}
    seen = [tally("record.returns_in", *counts[court], court=court) for court in counts]
    line = advise(moment="between-points", context=NO_AD, score=DECIDING, observations=seen).suggestions[0]
    assert line.say.startswith(say)
    told = {f"your returns in from the {court} court: {n} of {of}" for court, (n, of) in counts.items()}
    assert say.startswith("Your choice") or told <= {reason.text for reason in line.because}


FIRST = {"serve": "first", "set": 1, "game": 6}
SPOTS = [spots("ad", 8, 0, 1, **FIRST), spots("deuce", 1, 1, 11, **FIRST)]


def of(advice, tactic):
    return next(line for line in advice.suggestions if line.tactic == tactic)


def test_their_favourite_serves_are_named_by_court_and_between_points_in_the_court_of_the_next(advise):
    told = of(advise(observations=SPOTS, limit=10), "read-serve-habits")
    assert "wide in the ad court" in told.say
    assert "T in the deuce court" in told.say
    assert told.because[0].text == "first serves to the ad court: wide 8 of 9"
    score = scored("3-3", points="0-15", server="opponent")
    next_one = of(advise(moment="between-points", score=score, observations=SPOTS, limit=10), "read-serve-habits")
    assert "wide in the ad court" in next_one.say
    assert "deuce" not in next_one.say


def test_a_line_at_a_wing_names_it_and_the_serves_that_reach_it(advise):
    seen = [tally("rally.backhand_errors", 12, 24), tally("rally.forehand_errors", 3, 24)]
    seen += [tally("return.backhand_in", 4, 12), tally("return.forehand_in", 11, 12)]
    advice = advise(observations=seen, own={"serve_placement": 3}, opponent={"handedness": "right"}, limit=10)
    assert "backhand" in of(advice, "work-weaker-wing").say
    assert of(advice, "serve-to-hidden-wing").say == (
        "Two serves in every three to the backhand: T in the deuce court and wide in the ad court."
    )


def test_what_a_change_of_their_play_leaves_open_is_said_with_the_change(advise):
    counts = [(6, 7, 1), (5, 6, 3), (6, 7, 5), (0, 6, 7), (0, 7, 9), (0, 6, 11)]
    seen = [tally("serve.followed_to_net", n, of, set=1, game=game) for n, of, game in counts]
    advice = advise(observations=seen, limit=5)
    line = of(advice, "counter-their-adaptation")
    assert "they stay back: the deep return is free again" in line.say
    assert any("serves followed to the net" in change.text for change in advice.changed)


def test_a_change_that_was_posted_leaves_open_what_the_counts_before_and_since_say(advise):
    seen = [
        {"what": "conduct.change_of_play", "seen": True, "set": 2, "game": 1},
        tally("rally.ran_round_backhand", 2, 14, set=1, game=8),
        tally("rally.ran_round_backhand", 9, 12, set=2, game=3),
    ]
    assert "go wide to the forehand first" in of(advise(observations=seen, limit=5), "counter-their-adaptation").say
    little = [*seen[:2], {**seen[2], "count": 1, "of": 4}]
    assert "go for the space they have left" in of(advise(observations=little, limit=5), "counter-their-adaptation").say


def test_every_line_can_be_said_without_a_name(rulebook):
    lines = [t.say for t in rulebook.tactics.values()]
    lines += [one.say for t in rulebook.tactics.values() for one in t.when if one.say]
    assert not [line for line in lines if "{" in unnamed(line).replace("{site}", "")]
