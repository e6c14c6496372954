"""Places of tactics fit every pair of hands, lie where their words say, and each can be drawn."""

from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.advice.suggestions import place_of
from tacticapi.domain.court import BASELINE_M, SIDELINE_M
from tacticapi.domain.place import Hands, Place, PlacedMark, Point, Side
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Wing
from tacticapi.knowledge import RuleFileError, load
from tacticapi.knowledge.folders import our_rules
from tacticapi.pictures import tactic_picture
from tacticapi.pictures.court import drawn_for

HANDS = st.builds(
    Hands,
    st.sampled_from(["right", "left", "both", None]),
    st.sampled_from(["right", "left", None]),
    st.sampled_from([*Wing, None]),
)
OPPOSITES = [
    (Side.RIGHT, Side.LEFT),
    (Side.OWN_FOREHAND, Side.OWN_BACKHAND),
    (Side.THEIR_FOREHAND, Side.THEIR_BACKHAND),
    (Side.AIMED_WING, Side.OTHER_WING),
]


@given(HANDS)
def test_opposite_sides_are_opposite_whatever_the_hands(hands: Hands) -> None:
    assert all(hands.sign(one) == -hands.sign(other) for one, other in OPPOSITES)


def test_a_right_hander_who_faces_you_has_the_backhand_on_your_right() -> None:
    assert Hands("right", "right").sign(Side.THEIR_BACKHAND) == 1
    assert Hands("right", "left").sign(Side.THEIR_BACKHAND) == -1
    assert Hands("right", "right").sign(Side.OWN_FOREHAND) == 1
    assert Hands("left", "right").sign(Side.OWN_FOREHAND) == -1


@pytest.mark.parametrize(
    "hands", [Hands(), Hands("right", "left", Wing.FOREHAND), Hands("left", "right"), Hands("left", "left")]
)
def test_every_place_of_the_rules_can_be_drawn(rulebook: Rulebook, hands: Hands) -> None:
    for place in rulebook.places.values():
        assert drawn_for(hands) in tactic_picture(place, hands, title=place.tactic)


def test_every_target_of_the_rules_lies_in_the_opposite_court(rulebook: Rulebook) -> None:
    for place in rulebook.places.values():
        for target in place.targets:
            assert 0 < target.at.along < BASELINE_M, place.tactic
            assert target.at.aside < SIDELINE_M, place.tactic


def test_you_stand_on_your_half_and_your_opponent_on_theirs(rulebook: Rulebook) -> None:
    for place in rulebook.places.values():
        assert all(mark.at.along < 0 for mark in place.you), place.tactic
        assert all(mark.at.along > 0 for mark in place.opponent), place.tactic


def test_a_cross_court_ball_crosses_the_middle_and_a_line_ball_does_not(rulebook: Rulebook) -> None:
    hands = Hands("right", "right")
    for name, crosses in (
        ("cross-court-home", True),
        ("cross-court-return-default", True),
        ("recover-to-middle-of-angles", True),
        ("short-angle-off-a-wide-ball", True),
        ("take-line-early-against-cross-court-specialist", False),
        ("net-cover-line-then-middle", False),
    ):
        for way in rulebook.places[name].ways:
            (start, _), (end, _) = (point.spot(hands) for point in (way.through[0], way.through[-1]))
            assert (start * end < 0) is crosses, name


def test_serve_targets_follow_the_hand_and_the_wing(rulebook: Rulebook) -> None:
    for opponent, wing, serves in (
        ("right", Wing.BACKHAND, {"deuce": "T", "ad": "wide"}),
        ("left", Wing.BACKHAND, {"deuce": "wide", "ad": "T"}),
        (None, None, {"deuce": "T", "ad": "wide"}),
    ):
        place = place_of("serve-to-hidden-wing", Hands(None, opponent, wing), rulebook)
        assert place is not None
        assert place.serves == serves
    assert place_of("reset-between-points", Hands(), rulebook) is None


def test_a_serve_to_a_wing_lies_on_that_side_of_its_box(rulebook: Rulebook) -> None:
    place = place_of("serve-to-hidden-wing", Hands("right", "right", Wing.BACKHAND), rulebook)
    assert place is not None
    drawn = tactic_picture(place, Hands("right", "right", Wing.BACKHAND), title="t")
    assert "deuce court: T: on the opposite half, 0.7 m to your left of the middle" in drawn
    assert "ad court: wide: on the opposite half, 3.4 m to your right of the middle" in drawn


def test_nothing_to_draw_is_said(rulebook: Rulebook) -> None:
    with pytest.raises(ValueError, match="no place"):
        tactic_picture(Place("x"), Hands(), title="t")
    one = Place("x", you=(PlacedMark(Point(Side.RIGHT, 1.0, -12.0), "here"),))
    assert "here: on your half, 1.0 m to your right of the middle" in tactic_picture(one, Hands(), title="t")


def test_places_that_cannot_be_are_refused_with_what_was_expected(tmp_path: Path) -> None:
    wrong = {
        "a known tactic": {"tactic": "no-such-tactic", "serves": {"ad": "T"}},
        "at least one of": {"tactic": "reset-between-points"},
        "one of wide, body, T": {"tactic": "one-point-at-a-time", "serves": {"ad": "corner"}},
        "one of right, left": {"tactic": "toss-choice", "you": [{"at": ["north", 1, 1], "text": "x"}]},
        "a number up to 8": {"tactic": "when-ahead-play-same", "you": [{"at": ["right", 9, 1], "text": "x"}]},
        "a side, metres": {"tactic": "keep-a-winning-game", "you": [{"at": ["right", 1], "text": "x"}]},
        "an id used once": {"tactic": "cross-court-home", "serves": {"ad": "T"}},
    }
    (tmp_path / "places.yaml").write_text(yaml.safe_dump({"places": [*wrong.values()]}), encoding="utf-8")
    with pytest.raises(RuleFileError) as refused:
        load([our_rules(), tmp_path])
    told = [mistake.expected for mistake in refused.value.mistakes]
    assert all(any(expected in one for one in told) for expected in wrong)
