"""Advice holds steady from one change of ends to the next, and says what moved and why."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tacticapi.advice.plan import changed_since
from tacticapi.advice.selection import Value, steady
from tacticapi.domain.advice import Advice, AdviceChange, HeldBackTactic, Reason, Suggestion
from tacticapi.domain.reasoning import Belief, Contribution, Priced, belief_name
from tacticapi.domain.rules import Rulebook, Tactic
from tacticapi.domain.situation import HeldBack, Phase, Previous, Show, Wing
from tacticapi.evidence.changes import ChangePoint, Shift

Advise = Callable[..., Advice]


def ids(items: list[Priced]) -> list[str]:
    return [item.firing.tactic.id for item in items]


def values(**match: float) -> dict[str, Value]:
    return {name: Value(worth, worth / 4) for name, worth in match.items()}


@pytest.mark.parametrize(
    ("challenger", "first"), [(0.024, ["incumbent", "challenger"]), (0.026, ["challenger", "incumbent"])]
)
def test_the_first_suggestion_stays_until_another_exceeds_it_by_the_margin(priced, challenger, first):
    ordered = [priced("challenger"), priced("incumbent"), priced("third")]
    worth = values(challenger=challenger, incumbent=0.020, third=0.001)
    assert ids(steady(ordered, worth, Previous(first="incumbent"), 0.005)) == [*first, "third"]


def test_lines_shown_first_stay_before_it_and_reminders_after_it(priced):
    ordered = [
        priced("law", show=Show.FIRST),
        priced("challenger"),
        priced("incumbent"),
        priced("reminder", show=Show.REMINDER),
    ]
    worth = values(law=0.0, challenger=0.012, incumbent=0.010, reminder=0.5)
    held = steady(ordered, worth, Previous(first="incumbent"), 0.005)
    assert ids(held) == ["law", "incumbent", "challenger", "reminder"]
    assert ids(steady(ordered, worth, Previous(first="reminder"), 0.005)) == ids(ordered)


def test_without_an_earlier_first_that_is_still_there_nothing_is_held(priced):
    ordered = [priced("a"), priced("b")]
    worth = values(a=0.011, b=0.010)
    for previous in (None, Previous(), Previous(first="gone"), Previous(first="a")):
        assert ids(steady(ordered, worth, previous, 0.005)) == ["a", "b"]


HIGH = {"what": "rally.against_high_ball", "wing": "backhand", "set": 1, "game": 3}
ASKED: dict[str, Any] = {
    "own": {"handedness": "right", "serve_placement": 3, "topspin_height": 3},
    "opponent": {"handedness": "right"},
    "score": {"sets": [], "games": [2, 1], "points": ["0", "0"], "server": "own"},
}


MARGIN = 0.005


def close(advise: Advise, **asked: Any) -> tuple[dict[str, Any], str, str]:
    """A situation in which the two tactics that gain most are closer than the margin, and these two."""
    for handled in range(1, 40):
        asked["observations"] = [
            {"what": "rally.against_low_ball", "wing": "backhand", "count": handled, "of": 40},
            {"what": "serve.second_serve_points_won", "count": 2, "of": 40},
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
    assert change.what == "first"
    assert change.text.startswith(f'"{advice.suggestions[0].title}" is first now, no longer "')
    assert "no longer hold" in change.text
    assert change.observations == (0,)


def test_beliefs_that_moved_are_named_with_their_evidence_and_small_moves_are_not(advise):
    seen = [{**HIGH, "count": 2, "of": 12}, {"what": "serve.second_serve_pace", "rating": 2}]
    now = {(b.trait, b.wing): b.probability for b in advise(**ASKED, observations=seen).beliefs}
    high = now["weak_high_backhand", Wing.BACKHAND]
    before = {belief_name(*key): probability for key, probability in now.items()}
    before |= {"weak_high_backhand/backhand": 0.45, "weak_low_ball/forehand": before["weak_low_ball/forehand"] + 0.04}
    changes = advise(**ASKED, observations=seen, previous={"beliefs": before}).changed
    assert [(c.trait, c.wing, c.before, c.after) for c in changes] == [
        ("weak_high_backhand", Wing.BACKHAND, 0.45, high)
    ]
    assert "0.45 before" in changes[0].text
    assert "2 of 12" in changes[0].text
    assert changes[0].observations == (0,)


def test_a_trait_with_two_wings_is_compared_wing_by_wing(advise):
    before = {"weak_low_ball/backhand": 0.9, "weak_low_ball": 0.9}
    changes = advise(**ASKED, previous={"beliefs": before}).changed
    assert [(c.trait, c.wing) for c in changes] == [("weak_low_ball", Wing.BACKHAND)]
    assert "less likely" in changes[0].text


def test_without_an_earlier_advice_nothing_has_changed(advise):
    assert advise(**ASKED).changed == ()


# Their play ----------------------------------------------------------------------------------------------------------


def by_game(what: str, *counts: tuple[int, int]) -> list[dict[str, Any]]:
    return [
        {"what": what, "count": hits, "of": of, "set": 1, "game": g} for g, (hits, of) in enumerate(counts, start=1)
    ]


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


# Word for word --------------------------------------------------------------------------------------------------------


Told = Callable[..., tuple[AdviceChange, ...]]
NO_REASON = "all that was seen is read together"


@pytest.fixture
def told(rulebook: Rulebook, tactic: Callable[..., Tactic], advise: Callable[..., Advice]) -> Told:
    """What changed, in a rulebook that also has tactics "now", "before", "due" and "law"."""
    lines = tactic("now"), tactic("before"), tactic("law", show=Show.FIRST), tactic("due", show=Show.DUE)
    ours = {one.id: one for one in lines}
    book = replace(rulebook, tactics={**rulebook.tactics, **ours})
    shown = advise(limit=1).suggestions[0]

    def ask(previous: Previous | None, now: str | None = "now", **rest: Any) -> tuple[AdviceChange, ...]:
        suggestion = replace(shown, tactic=now, title=now, because=rest.pop("because", ())) if now else None
        lines: tuple[Suggestion, ...] = (suggestion,) if suggestion else ()
        empty: dict[str, Any] = {"values": {}, "held": (), "beliefs": (), "shifts": ()}
        return changed_since(previous, book, suggestions=lines, **{**empty, **rest})

    return ask


WORTH = {"now": Value(0.034, 0.01), "before": Value(0.012, 0.005), "law": Value(0.0, 0.0), "due": Value(0.0, 0.0)}


@pytest.mark.parametrize(
    ("now", "before", "rest", "text"),
    [
        (
            "now",
            "before",
            {"values": WORTH},
            '"now" is first now, no longer "before": it is worth 0.022 more of the match',
        ),
        (
            "law",
            "before",
            {"values": WORTH},
            '"law" is first now, no longer "before": it comes before tactics that are ranked by gain',
        ),
        (
            "due",
            "before",
            {"values": WORTH},
            '"due" is first now, no longer "before": it comes before tactics that are ranked by gain',
        ),
        (
            "now",
            "before",
            {
                "values": WORTH,
                "held": [
                    HeldBackTactic("other", HeldBack.MOMENT, "no"),
                    HeldBackTactic("before", HeldBack.MOMENT, "not now"),
                ],
            },
            '"now" is first now, no longer "before": "before" is held back: not now',
        ),
        ("now", "before", {}, '"now" is first now, no longer "before": the conditions of "before" no longer hold'),
        ("now", "gone", {}, '"now" is first now, no longer "gone": the conditions of "gone" no longer hold'),
    ],
)
def test_why_another_suggestion_is_first_now(told, now, before, rest, text):
    assert told(Previous(first=before), now, **rest) == (AdviceChange("first", text),)


def test_the_title_of_a_tactic_is_told_and_not_its_id(told, rulebook):
    title = rulebook.tactics["work-weaker-wing"].title
    (change,) = told(Previous(first="work-weaker-wing"))
    assert change.text == f'"now" is first now, no longer "{title}": the conditions of "{title}" no longer hold'


def test_a_new_first_suggestion_names_each_observation_behind_it_once(told):
    because = tuple(Reason("seen", "what", place) for place in (4, None, 1, 4))
    (change,) = told(Previous(first="before"), values=WORTH, because=because)
    assert change.observations == (1, 4)


def test_the_same_first_suggestion_or_none_is_no_change(told):
    assert told(Previous(first="now")) == ()
    assert told(Previous(first="before"), None) == ()
    assert told(Previous()) == ()
    assert told(None) == ()


# Beliefs -----------------------------------------------------------------------------------------------------------


def part(text: str, log_odds: float, *places: int) -> Contribution:
    return Contribution(log_odds, "rally.against_low_ball", Phase.GAMES, 4, places, text)


def low(probability: float, *parts: Contribution, wing: Wing = Wing.BACKHAND) -> Belief:
    return Belief("weak_low_ball", wing, 0.38, probability, parts)


def test_a_belief_that_rose_names_at_most_two_of_what_speaks_for_it(told, rulebook):
    parts = part("a", 0.9, 3), part("b", -0.8, 7), part("profile", 0.7), part("c", 0.6, 1, 3), part("d", 0.5, 9)
    (change,) = told(Previous(beliefs={"weak_low_ball/backhand": 0.4}), beliefs=[low(0.7, *parts)])
    title = rulebook.traits["weak_low_ball"].title
    text = f"{title} (backhand): more likely, 0.40 before and 0.70 now, because of a and c"
    assert change == AdviceChange("belief", text, "weak_low_ball", Wing.BACKHAND, 0.4, 0.7, (1, 3))


def test_a_belief_that_fell_names_what_speaks_against_it(told):
    parts = part("a", 0.9, 3), part("b", -0.8, 7)
    (change,) = told(Previous(beliefs={"weak_low_ball/backhand": 0.7}), beliefs=[low(0.4, *parts)])
    assert change.text.endswith(" (backhand): less likely, 0.70 before and 0.40 now, because of b")
    assert change.observations == (7,)


def test_a_belief_that_moved_with_nothing_seen_says_so(told, rulebook):
    (change,) = told(Previous(beliefs={"retriever": 0.6}), beliefs=[Belief("retriever", None, 0.22, 0.22, ())])
    title = rulebook.traits["retriever"].title
    assert change.text == f"{title}: less likely, 0.60 before and 0.22 now, as {NO_REASON}"
    assert (change.wing, change.observations) == (None, ())


def test_the_belief_that_moved_most_comes_first_up_or_down(told):
    before = {"weak_low_ball/backhand": 0.3, "weak_low_ball/forehand": 0.9, "retriever": 0.0}
    beliefs = [low(0.5), low(0.5, wing=Wing.FOREHAND), Belief("retriever", None, 0.22, 0.3, ())]
    changes = told(Previous(beliefs=before), beliefs=beliefs)
    assert [(c.trait, c.before) for c in changes] == [
        ("weak_low_ball", 0.9),
        ("retriever", 0.0),
        ("weak_low_ball", 0.3),
    ]


def test_a_move_as_large_as_the_least_that_is_told_is_told(told, rulebook):
    least = float(rulebook.defaults["plan"]["moved"])
    for probability, moved in ((least, True), (least - 0.001, False)):
        changes = told(Previous(beliefs={"weak_low_ball/backhand": 0.0}), beliefs=[low(probability)])
        assert bool(changes) is moved


# Their play --------------------------------------------------------------------------------------------------------


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
    text = f"Their play changed: {named}, about 25% before set 1 game 5 and 70% since (chance of a change 0.93)"
    assert told(None, shifts=[shift]) == (AdviceChange("play", text, None, wing, 0.254, 0.7, (2, 5)),)
