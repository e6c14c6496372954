"""A court picture is a court to scale, seen from behind your own baseline, and tells in words all that is on it."""

import pathlib
import re
import runpy
from xml.etree import ElementTree

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from tacticapi.advice.suggestions import place_of
from tacticapi.domain.court import (
    BASELINE_M,
    SERVICE_LINE_M,
    SIDELINE_M,
    STICK_M,
    Hands,
    Place,
    PlacedMark,
    Point,
    Side,
)
from tacticapi.domain.situation import Wing
from tacticapi.pictures.court import (
    COURTS,
    SPOTS,
    aim,
    court_picture,
    drawn_for,
    place_words,
    serve_spots,
    tactic_picture,
    third,
)
from tacticapi.pictures.court_marks import (
    SCALE,
    SCALE_OF_BOXES,
    SCALE_OF_HALF,
    LandingArea,
    Path,
    Person,
    Share,
    Target,
    View,
)
from tacticapi.pictures.svg import NAMESPACE
from tacticapi.rulebook.files import RuleFileError, our_rules
from tacticapi.rulebook.load import load

SVG = f"{{{NAMESPACE}}}"
METRES = st.floats(-16, 16, allow_nan=False)
PLACES = st.tuples(st.floats(-8, 8, allow_nan=False), METRES)


def drawn(**parts):
    return ElementTree.fromstring(court_picture(title="a court", **parts))


def told(picture):
    return picture.findtext(f"{SVG}desc") or ""


def size(picture):
    _, _, width, height = (float(part) for part in picture.get("viewBox", "").split())
    return width, height


def circles(picture):
    for one in picture.iter(f"{SVG}circle"):
        yield float(one.get("cx", "")), float(one.get("cy", "")), one.get("fill", "")


def lines(picture):
    """Width and height of every straight line."""
    found = [[float(one.get(name, "")) for name in ("x1", "y1", "x2", "y2")] for one in picture.iter(f"{SVG}line")]
    return [(abs(a - c), abs(b - d)) for a, b, c, d in found]


@pytest.mark.parametrize(
    ("view", "halves", "scale"),
    [(View.WHOLE, 2, SCALE), (View.OWN, 1, SCALE_OF_HALF), (View.OPPONENT, 1, SCALE_OF_HALF)],
    ids=["whole", "own half", "other half"],
)
def test_the_court_is_drawn_to_scale_and_service_boxes_alone_are_larger(view, halves, scale):
    found = lines(drawn(view=view))
    across = [width for width, height in found if height == 0]
    along = [height for width, height in found if width == 0]
    assert across.count(pytest.approx(2 * SIDELINE_M * scale, abs=0.2)) == 2 * halves
    assert across.count(pytest.approx(2 * STICK_M * scale, abs=0.2)) == 1
    assert along.count(pytest.approx(BASELINE_M * scale, abs=0.2)) == 2 * halves
    assert along.count(pytest.approx(SERVICE_LINE_M * scale, abs=0.2)) == halves
    boxes = [width for width, height in lines(drawn(view=View.OPPONENT_BOXES)) if height == 0]
    assert boxes.count(pytest.approx(2 * SIDELINE_M * SCALE_OF_BOXES, abs=0.2)) == 1


@settings(max_examples=12)
@given(st.lists(PLACES, min_size=1, max_size=5))
def test_whatever_stands_on_it_is_inside_the_picture_and_so_are_the_labels(places):
    people = [Person(place, f"place {n} of somebody with a long label") for n, place in enumerate(places)]
    picture = drawn(people=people)
    width, height = size(picture)
    assert all(0 < x < width and 0 < y < height for x, y, _ in circles(picture))
    spots = [(float(text.get("x", "")), float(text.get("y", ""))) for text in picture.iter(f"{SVG}text")]
    assert spots
    assert all(0 < x < width and 0 < y < height for x, y in spots)


def test_the_words_tell_every_mark_with_its_place():
    words = told(
        drawn(
            description="After a wide serve.",
            people=[Person((1.2, -12.1), "you"), Person((0, 12.885), "your opponent", own=False)],
            targets=[Target((-3.6, 5.4), "wide serve")],
            paths=[Path(((1.2, -12.1), (-3.6, 5.4)), "serve")],
            spreads=[LandingArea((-3, 5), 1, 2, "8 of 10 balls")],
            shares=[Share((0, 0), (1, 6.4), 0.62, "T", "13 of 21"), Share((1, 0), (2, 6.4), None, "body")],
        )
    )
    parts = """After a wide serve.
        you: on your side, 1.2 m to your right of the middle, 0.2 m behind the baseline.
        your opponent: on their side, in the middle, 1.0 m behind the baseline.
        wide serve: on their side, 3.6 m to your left of the middle, 5.4 m from the net.
        serve: from on your side
        8 of 10 balls: on their side
        T: 62%, 13 of 21.
        body: nothing seen."""
    assert [part for part in map(str.strip, parts.split("\n")) if part not in words] == []


@pytest.mark.parametrize(
    ("spot", "words"),
    [
        ((0.1, 0), "at the net, in the middle"),
        ((-4.1, -11.0), "on your side, 4.1 m to your left of the middle, 0.9 m inside the baseline"),
        ((0, 2), "on their side, in the middle, 2.0 m from the net"),
    ],
)
def test_a_place_is_said_by_the_nearest_line_across(spot, words):
    assert place_words(spot) == words


@pytest.mark.parametrize("court", COURTS)
def test_the_thirds_of_a_box_fill_it_and_each_serve_is_aimed_at_the_third_diagonally_opposite(court):
    """The deuce court is to the right of whoever faces the net in it."""
    corners = [third(court, spot) for spot in SPOTS]
    assert sum(abs(a[0] - b[0]) for a, b in corners) == pytest.approx(SIDELINE_M)
    for (a, b), spot in zip(corners, SPOTS, strict=True):
        x, y = aim(court, spot)
        assert min(a[0], b[0]) < -x < max(a[0], b[0])
        assert -SERVICE_LINE_M < -y < 0
        assert (x < 0) is (court == "deuce")
    assert abs(aim(court, "wide")[0]) > abs(aim(court, "T")[0])


def test_serve_spots_are_shares_of_their_own_court_with_the_counts():
    drawn = serve_spots({"deuce": {"T": 13, "wide": 4}, "ad": {}})
    assert re.findall(r"#[0-9a-f]{3,6}", drawn) == []  # no share is coloured
    picture = ElementTree.fromstring(drawn)
    words = told(picture)
    parts = ("deuce court, T: 76%, 13 of 17.", "deuce court, body: 0%, 0 of 17.", "ad court, wide: nothing seen.")
    assert [part for part in parts if part not in words] == []
    shown = ["".join(one.itertext()) for one in picture.iter(f"{SVG}text")]
    assert {"deuce court:", "17 serves", "ad court:", "none seen"} <= set(shown)
    bold = [one.text for one in picture.iter(f"{SVG}text") if one.get("font-weight") == "bold"]
    assert ("76%" in bold, "24%" in bold) == (True, False)
    with pytest.raises(ValueError, match="no serve"):
        serve_spots({"deuce": {}})


HANDS = st.builds(
    Hands,
    st.sampled_from(["right", "left", "both", None]),
    st.sampled_from(["right", "left", None]),
    st.sampled_from([*Wing, None]),
)
OPPOSITES = [
    (Side.RIGHT, Side.LEFT), (Side.OWN_FOREHAND, Side.OWN_BACKHAND), (Side.THEIR_FOREHAND, Side.THEIR_BACKHAND),
    (Side.AIMED_WING, Side.OTHER_WING),
]  # fmt: skip


@given(HANDS)
def test_opposite_sides_are_opposite_whatever_the_hands(hands):
    assert all(hands.sign(one) == -hands.sign(other) for one, other in OPPOSITES)


def test_a_right_hander_who_faces_you_has_the_backhand_on_your_right():
    assert Hands("right", "right").sign(Side.THEIR_BACKHAND) == 1
    assert Hands("right", "left").sign(Side.THEIR_BACKHAND) == -1
    assert Hands("right", "right").sign(Side.OWN_FOREHAND) == 1
    assert Hands("left", "right").sign(Side.OWN_FOREHAND) == -1


def test_every_place_of_the_rules_can_be_drawn_before_any_hand_is_known(rulebook):
    """With hands they are drawn where their labels are held to touch nothing."""
    for place in [*rulebook.places.values()][::4]:
        assert drawn_for(Hands()) in tactic_picture(place, Hands(), title=place.tactic)
    assert place_of("reset-between-points", Hands(), rulebook) is None


def test_you_stand_on_your_half_your_opponent_on_theirs_and_every_target_lies_in_the_opposite_court(rulebook):
    for place in rulebook.places.values():
        assert all(mark.at.along < 0 for mark in place.you), place.tactic
        assert all(mark.at.along > 0 for mark in place.opponent), place.tactic
        for target in place.targets:
            assert 0 < target.at.along < BASELINE_M, place.tactic
            assert target.at.aside < SIDELINE_M, place.tactic


def test_nothing_to_draw_is_said(rulebook):
    with pytest.raises(ValueError, match="no place"):
        tactic_picture(Place("x"), Hands(), title="t")
    one = Place("x", you=(PlacedMark(Point(Side.RIGHT, 1.0, -12.0), "here"),))
    assert "here: on your side, 1.0 m to your right of the middle" in tactic_picture(one, Hands(), title="t")


def test_places_that_cannot_be_are_refused_with_what_was_expected(tmp_path):
    wrong = {
        "a known tactic": {"tactic": "no-such-tactic", "serves": {"ad": "T"}},
        "at least one of": {"tactic": "reset-between-points"},
        "one of wide, body, T": {"tactic": "one-point-at-a-time", "serves": {"ad": "corner"}},
        "one of right, left": {"tactic": "toss-choice", "you": [{"at": ["north", 1, 1], "text": "x"}]},
        "a number up to 8": {"tactic": "when-ahead-play-same", "you": [{"at": ["right", 9, 1], "text": "x"}]},
        "a side, metres": {"tactic": "keep-a-winning-game", "you": [{"at": ["right", 1], "text": "x"}]},
        "a unique id": {"tactic": "cross-court-home", "serves": {"ad": "T"}},
    }
    (tmp_path / "places.yaml").write_text(yaml.safe_dump({"places": [*wrong.values()]}), encoding="utf-8")
    with pytest.raises(RuleFileError) as refused:
        load([our_rules(), tmp_path])
    told = [mistake.expected for mistake in refused.value.mistakes]
    assert all(any(expected in one for one in told) for expected in wrong)


DOCS = pathlib.Path(__file__).parents[3] / "docs"
DRAWING = runpy.run_path(str(DOCS / "court_picture.py"))


def test_the_picture_of_the_documentation_is_the_one_that_is_drawn_and_names_its_axes():
    kept = ElementTree.fromstring((DOCS / "court.svg").read_text())
    drawn = ElementTree.fromstring(DRAWING["picture"]())
    assert list(kept.itertext())[1:] == list(drawn.itertext())[1:]  # the first text is the style
    assert "court.svg" in (DOCS / "court.md").read_text()
    text = " ".join(drawn.itertext())
    assert all(word in text for word in ("x 4.115, y 11.885", "origin", "you: y < 0", "opponent: y > 0"))
