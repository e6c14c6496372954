"""Pictures are well-formed, tell in words what they show, escape what people typed, and ask for nothing outside."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.pictures.charts import BOTTOM, LEFT, RIGHT, TOP, BeliefBar, CurvePoint, KeyPoint, belief_bars, win_curve
from tacticapi.pictures.court import court_picture
from tacticapi.pictures.court_marks import Note, Person
from tacticapi.pictures.svg import NAMESPACE, percent, shortened

SVG = f"{{{NAMESPACE}}}"
CHANCES = st.lists(st.floats(0, 1), min_size=1, max_size=40)
TYPED = '<script>alert("x")</script> & \u0000\u001b\ud800 ♥'


def curve(chances, keys=(), by_hand=None):
    points = [CurvePoint(1 + place // 10, chance, place != by_hand) for place, chance in enumerate(chances)]
    return ElementTree.fromstring(win_curve(0.5, points, keys))


def texts(picture, name):
    return ["".join(found.itertext()) for found in picture.iter(f"{SVG}{name}")]


def spots(picture):
    runs = (run.get("points", "").split() for run in picture.iter(f"{SVG}polyline"))
    return [(float(x), float(y)) for run in runs for x, _, y in (pair.partition(",") for pair in run)]


@given(CHANCES)
def test_the_curve_stays_in_its_frame_and_rises_with_the_chance(chances):
    drawn = spots(curve(chances))
    assert len(drawn) == len(chances) + 1
    assert all(LEFT <= x <= RIGHT and TOP <= y <= BOTTOM for x, y in drawn)
    heights = [y for _, (_, y) in sorted(zip(chances, drawn[1:], strict=True), key=lambda pair: (pair[0], -pair[1][1]))]
    assert heights == sorted(heights, reverse=True)


def test_the_curve_tells_in_words_where_it_began_ended_and_turned():
    drawn = curve([0.4, 0.2, 0.9, 1.0], (KeyPoint(3, "set 1, game 2, at 30-40, won"),))
    told = texts(drawn, "desc")[0]
    parts = ("began at 50%", "ended at 100%", "lowest, 20%, after entry 2", "Key point 1: set 1, game 2, at 30-40")
    assert [part for part in parts if part not in told] == []
    assert drawn.get("role") == "img"
    ids = {found.get("id") for found in drawn.iter() if found.get("id")}
    assert set(drawn.get("aria-labelledby", "").split()) == ids


def test_key_points_stand_where_they_ended_and_apart_from_each_other():
    drawn = curve([0.5] * 60, tuple(KeyPoint(n, f"point {n}") for n in (10, 11, 12, 25)))
    dots = [(float(c.get("cx", "")), float(c.get("cy", ""))) for c in drawn.iter(f"{SVG}circle")]
    assert len(dots) == 4
    xs = [x for x, _ in spots(drawn)]
    assert [x for x, _ in dots] == pytest.approx([xs[10], xs[11], xs[12], xs[25]], abs=0.1)
    for place, (x, y) in enumerate(dots):
        assert all(abs(x - a) >= 17.9 or abs(y - b) >= 17.9 for a, b in dots[:place])


def test_a_score_set_by_hand_is_no_played_point():
    dashed = [one for one in curve([0.5, 0.9, 0.8], by_hand=1).iter(f"{SVG}line") if one.get("stroke-dasharray")]
    assert len(dashed) == 1
    assert len(spots(curve([0.5, 0.9, 0.8], by_hand=1))) == 4  # two runs, the jump between them
    assert len(spots(curve([0.5, 0.9, 0.8], by_hand=0))) == 3  # before the jump there is no run


def test_sets_are_named_where_they_begin():
    assert [text for text in texts(curve([0.5] * 25), "text") if text.startswith("set")] == ["set 1", "set 2", "set 3"]


@pytest.mark.parametrize(
    "drawn",
    [
        win_curve(0.5, [CurvePoint(1, 0.6)], [KeyPoint(1, TYPED)]),
        belief_bars([BeliefBar(TYPED, 0.5, 0.6, TYPED)], title=TYPED),
        court_picture(title=TYPED, description=TYPED, people=[Person((0, 0), TYPED)], notes=[Note((0, 5), TYPED)]),
    ],
    ids=["curve", "bars", "court"],
)
def test_what_was_typed_stays_text_and_nothing_is_asked_for_outside(drawn):
    read = ElementTree.fromstring(drawn)
    assert not list(read.iter(f"{SVG}script"))
    assert '<script>alert("x")</script> &  ♥' in "".join(read.itertext())
    names = {re.sub(r"{.*}", "", name) for found in read.iter() for name in found.attrib}
    assert not names & {"href", "src", "style"}
    assert set(read.get("aria-labelledby", "").split()) == {one.get("id") for one in read.iter() if one.get("id")}
    assert "url(" not in drawn
    assert set(re.findall(r"https?://[^\"' ]+", drawn)) == {NAMESPACE}


def test_without_data_there_is_no_picture():
    with pytest.raises(ValueError, match="no point"):
        win_curve(0.5, [])
    with pytest.raises(ValueError, match="no belief"):
        belief_bars([])


def test_long_texts_are_cut_and_a_share_is_never_rounded_to_certainty():
    assert (shortened("four", 4), shortened("a long text", 7)) == ("four", "a long…")
    assert [percent(p) for p in (0.0, 0.001, 0.5, 0.999, 1.0)] == ["0%", "under 1%", "50%", "over 99%", "100%"]
