"""Advice holds steady from one change of ends to the next, and says what moved and why."""

from dataclasses import replace

import pytest

from tacticapi.advice.plan import changed_since
from tacticapi.advice.selection import Value
from tacticapi.domain.advice import AdviceChange, HeldBackTactic
from tacticapi.domain.reasoning import belief_name
from tacticapi.domain.situation import HeldBack, Previous, Show, Wing
from tacticapi.evidence.entries import ChangePoint, Shift

from ...builders import scored, tally

HIGH = {"what": "rally.against_high_ball", "wing": "backhand", "set": 1, "game": 3}
ASKED = {
    "own": {"handedness": "right", "serve_placement": 3, "topspin_height": 3},
    "opponent": {"handedness": "right"},
    "score": scored("2-1"),
}
MARGIN = 0.005


def close(advise, **asked):
    """A situation in which the two tactics that gain most are closer than the margin, and these two."""
    for handled in range(1, 40):
        asked["observations"] = [
            tally("rally.against_low_ball", handled, 40, wing="backhand"),
            tally("serve.second_serve_points_won", 2, 40),
        ]
        first, second = [line for line in advise(**asked).suggestions if line.worth][:2]
        if first.worth and second.worth and 0 < first.worth.match - second.worth.match < 0.8 * MARGIN:
            return asked, first.tactic, second.tactic
    raise AssertionError


def test_two_close_tactics_do_not_swap_places_from_one_advice_to_the_next(advise, rulebook):
    assert rulebook.defaults["plan"]["hysteresis"] == MARGIN
    own = {**ASKED["own"], "slice_backhand": 3, "return_attack": 3}
    asked, first, second = close(advise, **{**ASKED, "own": own, "limit": 10})
    again = advise(**asked, previous={"first": second})
    assert [line.tactic for line in again.suggestions if line.worth][:2] == [second, first]
    assert again.changed == ()


def test_a_new_first_suggestion_is_named_with_what_made_it_so(advise):
    advice = advise(**ASKED, observations=[{**HIGH, "count": 2, "of": 12}], previous={"first": "attack-second-serve"})
    change = advice.changed[0]
    assert (change.what, change.observations) == ("first", (0,))
    assert change.text.startswith(f'"{advice.suggestions[0].title}" now comes first, instead of "')


def test_beliefs_that_moved_are_named_with_their_evidence_and_small_moves_are_not(advise):
    seen = [{**HIGH, "count": 2, "of": 12}, {"what": "serve.second_serve_pace", "rating": 2}]
    now = {(b.trait, b.wing): b.probability for b in advise(**ASKED, observations=seen).beliefs}
    high = now["weak_high_backhand", Wing.BACKHAND]
    before = {belief_name(*key): probability for key, probability in now.items()}
    before |= {"weak_high_backhand/backhand": 0.45, "weak_low_ball/forehand": before["weak_low_ball/forehand"] + 0.04}
    changes = advise(**ASKED, observations=seen, previous={"beliefs": before}).changed
    (change,) = changes
    assert (change.trait, change.wing, change.before, change.after) == ("weak_high_backhand", Wing.BACKHAND, 0.45, high)
    assert "0.45 before" in change.text
    assert "2 of 12" in change.text
    assert change.observations == (0,)
    before |= {"weak_low_ball/forehand": before["weak_low_ball/forehand"] + 0.5}
    changes = advise(**ASKED, observations=seen, previous={"beliefs": before}).changed
    assert [c.trait for c in changes] == ["weak_low_ball", "weak_high_backhand"], "the largest first"


def test_a_trait_with_two_wings_is_compared_wing_by_wing(advise):
    before = {"weak_low_ball/backhand": 0.9, "weak_low_ball": 0.9}
    changes = advise(**ASKED, previous={"beliefs": before}).changed
    assert [(c.trait, c.wing) for c in changes] == [("weak_low_ball", Wing.BACKHAND)]
    assert "less likely" in changes[0].text


def by_game(what, *counts):
    return [tally(what, hits, of, set=1, game=g) for g, (hits, of) in enumerate(counts, start=1)]


def test_a_share_that_moved_between_games_is_told_and_answered(advise):
    moved = by_game("rally.ran_round_backhand", (0, 7), (1, 8), (6, 7), (7, 8))
    advice = advise(observations=moved, limit=10)
    change = next(c for c in advice.changed if c.what == "play")
    assert "set 1 game 3" in change.text
    assert change.observations == (2, 3)
    assert (change.before, change.after) == pytest.approx((2 / 17, 14 / 17))
    assert "counter-their-adaptation" in {s.tactic for s in advice.suggestions}


def test_a_serve_that_moves_to_another_spot_is_a_change_of_play(advise):
    spots = [{"wide": 7, "T": 1}, {"wide": 6}, {"T": 7}, {"wide": 1, "T": 7}]
    serves = [{"what": "serve.ad_court_spots", "counts": s, "set": 1, "game": g} for g, s in enumerate(spots, start=1)]
    assert [c.what for c in advise(observations=serves).changed] == ["play"]


@pytest.mark.parametrize(
    "counts", [((0, 7), (7, 7), (7, 7)), ((3, 7), (4, 8), (2, 7), (4, 8)), ((0, 1), (0, 1), (1, 1), (1, 1))]
)
def test_three_games_a_steady_share_or_a_handful_of_chances_are_no_change(advise, counts):
    advice = advise(observations=by_game("rally.ran_round_backhand", *counts), limit=10)
    assert advice.changed == ()
    assert "counter-their-adaptation" not in {s.tactic for s in advice.suggestions}


def test_what_one_did_oneself_is_no_change_of_their_play(advise):
    own = by_game("record.first_serves_in", (0, 7), (1, 8), (6, 7), (7, 8))
    assert advise(observations=own).changed == ()


@pytest.fixture
def told(rulebook, tactic, advise):
    """What changed, in a rulebook that also has tactics "now", "before", "due" and "law"."""
    lines = tactic("now"), tactic("before"), tactic("law", show=Show.FIRST), tactic("due", show=Show.DUE)
    ours = {one.id: one for one in lines}
    book = replace(rulebook, tactics={**rulebook.tactics, **ours})
    shown = advise(limit=1).suggestions[0]

    def ask(previous, now="now", **rest):
        suggestion = replace(shown, tactic=now, title=now, because=rest.pop("because", ())) if now else None
        lines = (suggestion,) if suggestion else ()
        empty = {"values": {}, "held": (), "beliefs": (), "shifts": ()}
        return changed_since(previous, book, suggestions=lines, **{**empty, **rest})

    return ask


WORTH = {"now": Value(0.034, 0.01), "before": Value(0.012, 0.005), "law": Value(0.0, 0.0), "due": Value(0.0, 0.0)}
HELD = [HeldBackTactic(name, HeldBack.MOMENT, why) for name, why in (("other", "no"), ("before", "not now"))]


@pytest.mark.parametrize(
    ("now", "before", "rest", "why"),
    [
        ("now", "before", {"values": WORTH}, "it adds 0.022 more to the chance of winning the match"),
        ("law", "before", {"values": WORTH}, "it comes before tactics that are ranked by gain"),
        ("due", "before", {"values": WORTH}, "it comes before tactics that are ranked by gain"),
        ("now", "before", {"values": WORTH, "held": HELD}, '"before" is held back: not now'),
        ("now", "before", {}, 'the conditions for "before" are no longer met'),
        ("now", "gone", {}, 'the conditions for "gone" are no longer met'),
        ("now", "work-weaker-wing", {}, 'the conditions for "{title}" are no longer met'),
    ],
)
def test_why_another_suggestion_is_first_now(told, rulebook, now, before, rest, why):
    """A tactic is named by its title and not by its id."""
    title = rulebook.tactics[before].title if before in rulebook.tactics else before
    text = f'"{now}" now comes first, instead of "{title}": {why.format(title=title)}'
    assert told(Previous(first=before), now, **rest) == (AdviceChange("first", text),)


def test_the_same_first_suggestion_or_none_is_no_change(told):
    assert told(Previous(first="now")) == ()
    assert told(Previous(first="before"), None) == ()
    assert told(Previous()) == ()
    assert told(None) == ()


@pytest.mark.parametrize(
    ("what", "option", "wing", "part"),
    [
        ("rally.ran_round_backhand", None, None, ""),
        ("rally.against_low_ball", None, Wing.FOREHAND, " (forehand)"),
        ("passing.backhand_pass", "lob", Wing.BACKHAND, " (lob)"),  # the name says the wing already
        ("return.return_swing", "chip", Wing.FOREHAND, " (chip, forehand)"),
    ],
)
def test_a_change_of_their_play_is_told_in_shares(told, rulebook, what, option, wing, part):
    shift = Shift(what, wing, option, ChangePoint(0.931, 4, 0.254, 0.7), (1, 5), (2, 5))
    named = f"{rulebook.kinds[what].says}{part}"
    when = "about 25% before set 1 game 5 and 70% since (probability of a change 0.93)"
    text = f"Their play has changed: {named}, {when}"
    assert told(None, shifts=[shift]) == (AdviceChange("play", text, None, wing, 0.254, 0.7, (2, 5)),)
