"""Advice holds steady from one change of ends to the next, and says what moved and why."""

from collections.abc import Callable
from typing import Any

import pytest

from tacticapi.advice.selection import Value, steady
from tacticapi.domain.advice import Advice
from tacticapi.domain.firing import Priced
from tacticapi.domain.situation import Previous
from tacticapi.domain.terms import Show, Wing

Advise = Callable[..., Advice]
MakePriced = Callable[..., Priced]


def ids(items: list[Priced]) -> list[str]:
    return [item.firing.tactic.id for item in items]


def values(**match: float) -> dict[str, Value]:
    return {name: Value(worth, worth / 4) for name, worth in match.items()}


@pytest.mark.parametrize(
    ("challenger", "first"), [(0.024, ["incumbent", "challenger"]), (0.026, ["challenger", "incumbent"])]
)
def test_the_first_suggestion_stays_until_another_exceeds_it_by_the_margin(
    priced: MakePriced, challenger: float, first: list[str]
) -> None:
    ordered = [priced("challenger"), priced("incumbent"), priced("third")]
    worth = values(challenger=challenger, incumbent=0.020, third=0.001)
    assert ids(steady(ordered, worth, Previous(first="incumbent"), 0.005)) == [*first, "third"]


def test_lines_shown_first_stay_before_it_and_reminders_after_it(priced: MakePriced) -> None:
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


def test_without_an_earlier_first_that_is_still_there_nothing_is_held(priced: MakePriced) -> None:
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


def test_two_close_tactics_do_not_swap_places_from_one_advice_to_the_next(advise: Advise) -> None:
    wind = {"wind": {"strength": "strong", "direction": {"north": "with", "south": "against"}}}
    first, second = advise(**ASKED, context=wind).suggestions[:2]
    assert abs((first.gain.match or 0) - (second.gain.match or 0)) < 0.005
    again = advise(**ASKED, context=wind, previous={"first": second.tactic})
    assert [s.tactic for s in again.suggestions[:2]] == [second.tactic, first.tactic]
    assert again.changed == ()


def test_a_new_first_suggestion_is_named_with_what_made_it_so(advise: Advise) -> None:
    advice = advise(**ASKED, observations=[{**HIGH, "count": 2, "of": 12}], previous={"first": "attack-second-serve"})
    change = advice.changed[0]
    assert change.what == "first"
    assert change.text.startswith(f'"{advice.suggestions[0].title}" is first now, no longer "')
    assert "no longer hold" in change.text
    assert change.observations == (0,)


def test_beliefs_that_moved_are_named_with_their_evidence_and_small_moves_are_not(advise: Advise) -> None:
    seen = [{**HIGH, "count": 2, "of": 12}, {"what": "serve.second_serve_pace", "rating": 2}]
    now = {(b.trait, b.wing): b.probability for b in advise(**ASKED, observations=seen).beliefs}
    high = now["weak_high_backhand", Wing.BACKHAND]
    before = {"weak_high_backhand": 0.45, "weak_low_ball/forehand": now["weak_low_ball", Wing.FOREHAND] + 0.04}
    changes = advise(**ASKED, observations=seen, previous={"beliefs": before}).changed
    assert [(c.trait, c.wing, c.before, c.after) for c in changes] == [
        ("weak_high_backhand", Wing.BACKHAND, 0.45, high)
    ]
    assert "0.45 before" in changes[0].text
    assert "2 of 12" in changes[0].text
    assert changes[0].observations == (0,)


def test_a_trait_with_two_wings_is_compared_wing_by_wing(advise: Advise) -> None:
    before = {"weak_low_ball/backhand": 0.9, "weak_low_ball": 0.9}
    changes = advise(**ASKED, previous={"beliefs": before}).changed
    assert [(c.trait, c.wing) for c in changes] == [("weak_low_ball", Wing.BACKHAND)]
    assert "less likely" in changes[0].text


def test_without_an_earlier_advice_nothing_has_changed(advise: Advise) -> None:
    assert advise(**ASKED).changed == ()


# Their play ----------------------------------------------------------------------------------------------------------


def by_game(what: str, *counts: tuple[int, int]) -> list[dict[str, Any]]:
    return [
        {"what": what, "count": hits, "of": of, "set": 1, "game": g} for g, (hits, of) in enumerate(counts, start=1)
    ]


def test_a_share_that_moved_between_games_is_told_and_answered(advise: Advise) -> None:
    moved = by_game("rally.ran_round_backhand", (0, 7), (1, 8), (6, 7), (7, 8))
    advice = advise(observations=moved, limit=10)
    change = next(c for c in advice.changed if c.what == "play")
    assert "set 1 game 3" in change.text
    assert change.observations == (2, 3)
    assert (change.before, change.after) == pytest.approx((2 / 17, 14 / 17))
    assert "counter-their-adaptation" in {s.tactic for s in advice.suggestions}


def test_a_serve_that_moves_to_another_spot_is_a_change_of_play(advise: Advise) -> None:
    spots = [{"wide": 7, "T": 1}, {"wide": 6}, {"T": 7}, {"wide": 1, "T": 7}]
    serves = [{"what": "serve.ad_court_spots", "counts": s, "set": 1, "game": g} for g, s in enumerate(spots, start=1)]
    assert [c.what for c in advise(observations=serves).changed] == ["play"]


@pytest.mark.parametrize(
    "counts", [((0, 7), (7, 7), (7, 7)), ((3, 7), (4, 8), (2, 7), (4, 8)), ((0, 1), (0, 1), (1, 1), (1, 1))]
)
def test_three_games_a_steady_share_or_a_handful_of_chances_are_no_change(
    advise: Advise, counts: tuple[tuple[int, int], ...]
) -> None:
    advice = advise(observations=by_game("rally.ran_round_backhand", *counts), limit=10)
    assert advice.changed == ()
    assert "counter-their-adaptation" not in {s.tactic for s in advice.suggestions}


def test_what_one_did_oneself_is_no_change_of_their_play(advise: Advise) -> None:
    own = by_game("record.first_serves_in", (0, 7), (1, 8), (6, 7), (7, 8))
    assert advise(observations=own).changed == ()
