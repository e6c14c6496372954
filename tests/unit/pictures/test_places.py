"""Every tactic's picture for all hands: what is written lies where it is drawn, touches nothing, and can be read."""

import re
from itertools import pairwise, product
from math import hypot
from xml.etree import ElementTree

import pytest

from tacticapi.api.card import card_page
from tacticapi.club.card import RETURN, Card, CardLine
from tacticapi.domain.court import BASELINE_M, SIDELINE_M, Hands, Side
from tacticapi.domain.situation import Moment, Wing
from tacticapi.pictures.charts import BeliefBar, CurvePoint, KeyPoint, belief_bars, win_curve
from tacticapi.pictures.court import aim, court_picture, serve_spots, tactic_picture
from tacticapi.pictures.court_marks import Person
from tacticapi.pictures.svg import NAMESPACE
from tacticapi.rulebook.load import load

SVG = f"{{{NAMESPACE}}}"
PHONE_PX, LEAST_PX = 328, 11  # the width of a picture on a narrow phone; the size of the smallest letters
FIGURE_PX = 27.5 / 25.4 * 96  # the height of a picture on the plan card
LETTER, RISE, FALL = 0.69, 0.75, 0.22  # of the size of the letters; tests/browser holds them against a real face
HANDS = [Hands(*hands) for hands in product(("right", "left"), ("right", "left"), Wing)]
PLACES = load().places


class Written:
    """Words with the spots they belong to in metres: one for a place, several for a way; and where you stand."""

    def __init__(self, text, spots, you, hands):
        self.text, self.spots, self.hands = text, spots, hands
        self.start, self.end = spots[0], spots[-1]
        self.way = len(spots) > 1
        self.you = spots[:1] if self.way else you

    def crosses(self):
        """Whether it goes from one side of the court to the other, from every place that it is played from."""
        return bool(self.you) and all(start[0] * self.end[0] < 0 for start in self.you)

    def keeps_its_side(self):
        return bool(self.you) and all(start[0] * self.end[0] > 0 for start in self.you)

    def on(self, side):
        return self.hands.sign(side) * self.end[0] > 0


def begins_on(side):
    return lambda one: one.hands.sign(side) * one.start[0] > 0


MEANT = [
    (r"inside-out|cross-court|diagonally", lambda one: one.crosses() or "diagonally" in one.text),
    (r"(?<!inside the )\bline$|straight", lambda one: one.keeps_its_side() or not one.you),
    (r"down the line|towards the line", lambda one: one.keeps_its_side() or abs(one.end[0]) < SIDELINE_M / 2),
    (r"inside the line", lambda one: 0.5 <= BASELINE_M - one.end[1] <= 2.5),
    (r"middle|centre", lambda one: abs(one.end[0]) < 1),
    (r"^forehand$|cross-court forehand", begins_on(Side.OWN_FOREHAND)),
    (r"^backhand$", begins_on(Side.OWN_BACKHAND)),
    (r"to the backhand|backhand shoulder", lambda one: one.on(Side.THEIR_BACKHAND)),
    (r"weaker wing|this wing|two balls in three", lambda one: one.on(Side.AIMED_WING)),
    (r"the odd wide one|1: deep and wide", lambda one: one.on(Side.OTHER_WING)),
    (r"(?<!not too )deep|high and deep", lambda one: one.end[1] >= 9),
    (r"drop|short|feet|low, not too deep|into the gap", lambda one: 0 < one.end[1] <= 8),
    (r"deuce court$", lambda one: one.end[0] > 0 > one.end[1]),
    (r"ad court$", lambda one: one.end[0] < 0 and one.end[1] < 0),
    (r"deuce court: |ad court: ", lambda one: one.end == pytest.approx(aim(*re.split(" court: ", one.text)))),
    (r"far back|well back", lambda one: abs(one.end[1]) > BASELINE_M + 2),
    (r"at the net", lambda one: 0 < abs(one.end[1]) < 5),
    (r"follow it|forward", lambda one: abs(one.end[1]) < abs(one.start[1])),
    (r"forehand from here|a step to this side", lambda one: one.on(Side.OWN_BACKHAND)),
    (r"drawn out wide", lambda one: abs(one.end[0]) > SIDELINE_M),
    (r"slice to the T", lambda one: 0 < one.end[0] < 1 and one.end[1] < 0),
    (r"behind them", lambda one: one.end[0] < 0),  # they run to the right
    (r"their run|on the run", lambda one: one.end[0] > 0),
]
AT_LARGE = {"return", "next ball", "wait here"}  # words that speak of no place


def written(place, hands):
    you = [one.at.spot(hands) for one in place.you]
    for court, spot in place.serves.items():
        yield Written(f"{court} court: {spot}", [aim(court, spot)], you, hands)
    for mark in (*place.targets, *place.you, *place.opponent):
        yield Written(mark.text, [mark.at.spot(hands)], you, hands)
    for way in place.ways:
        yield Written(way.text, [point.spot(hands) for point in way.through], you, hands)


@pytest.mark.parametrize("tactic", PLACES)
def test_what_is_written_lies_where_it_is_drawn(tactic):
    for one in (one for hands in HANDS for one in written(PLACES[tactic], hands)):
        said = [true for pattern, true in MEANT if re.search(pattern, one.text)]
        assert said or one.text in AT_LARGE, f"{one.text!r}: say here where that is"
        assert all(true(one) for true in said), (one.text, one.spots, one.hands)


def drawn_apart(place):
    """Return hands for each different picture of a place; drawing one takes half a second."""
    return {tuple((one.text, *one.spots) for one in written(place, hands)): hands for hands in HANDS}.values()


@pytest.mark.parametrize("tactic", PLACES)
def test_no_label_touches_a_line_a_mark_or_another_label_on_a_phone(tactic):
    for hands in drawn_apart(PLACES[tactic]):
        picture = ElementTree.fromstring(tactic_picture(PLACES[tactic], hands, title=tactic))
        check_labels(picture, PHONE_PX / frame(picture)[0])


SERVES = {"deuce": {"wide": 12, "body": 33, "T": 55}, "ad": {"wide": 7}}
CURVE = [CurvePoint(1 + n // 13, 0.5 + n % 7 / 20) for n in range(40)]
LONG = "set 2, game 3, at 30-40: " + "lost after a long rally " * 4
BARS = [BeliefBar("prefers the forehand in the middle of the court", 0.3, 0.997, "balls seen " * 20)]


@pytest.mark.parametrize(
    "drawn",
    [
        serve_spots(SERVES),
        win_curve(0.5, CURVE, [KeyPoint(30, LONG)], listed=True),
        belief_bars(BARS),
        court_picture(title="far out", people=[Person((9.5, -14), "far out")]),
    ],
    ids=["serves", "curve", "beliefs", "far out"],
)
def test_the_words_of_other_pictures_are_whole_and_can_be_read_on_a_phone(drawn):
    picture = ElementTree.fromstring(drawn)
    rows = check_readable(picture, PHONE_PX / frame(picture)[0])
    assert rows
    assert not [row for number, row in enumerate(rows) for other in rows[:number] if overlap(row[2], other[2])]


def test_shares_of_serves_stand_within_their_third():
    picture = ElementTree.fromstring(serve_spots({"deuce": {"wide": 1, "body": 998, "T": 1}, "ad": {"wide": 7}}))
    check_labels(picture, PHONE_PX / frame(picture)[0])


def on_the_card():
    tactics = load().tactics
    for name, place in PLACES.items():
        if place.serves or (place.you and tactics[name].category in RETURN):
            yield name


@pytest.mark.parametrize("tactic", on_the_card())
def test_labels_on_the_plan_card_touch_nothing_and_can_be_read(tactic):
    for hands in drawn_apart(PLACES[tactic]):
        line = CardLine(tactic, "say", "look again")
        place = PLACES[tactic]
        parts = {"serve": line, "targets": place.serves, "stance": place if place.you else None}
        card = Card("Larch", "Sleet", Moment.BEFORE_MATCH, "1", hands, **parts)
        for drawn in re.findall(r"<svg.*?</svg>", card_page(card), re.DOTALL):
            picture = ElementTree.fromstring(drawn)
            check_labels(picture, FIGURE_PX / frame(picture)[1])


def frame(picture):
    width, height = (float(part) for part in picture.get("viewBox", "").split()[2:])
    return width, height


def check_readable(picture, scale):
    """Hold the words of a picture inside it, and large enough at so many pixels a unit; return them."""
    width, height = frame(picture)
    rows = list(rows_of(picture, float(picture.get("font-size", "12"))))
    for text, size, box in rows:
        assert size * scale >= LEAST_PX, text
        assert 0 <= box[0] < box[2] <= width, f"{text!r} stands out of the picture"
        assert 0 <= box[1] < box[3] <= height, f"{text!r} stands out of the picture"
    return rows


def check_labels(picture, scale):
    rows, lines, marks = check_readable(picture, scale), list(stretches(picture)), list(circles(picture))
    for number, (text, _, box) in enumerate(rows):
        assert not [ends for ends in lines if crosses(box, *ends)], f"{text!r} stands on a line"
        assert not [circle for circle in marks if touches(box, *circle)], f"{text!r} stands on a mark"
        assert not [other for other, _, around in rows[:number] if overlap(box, around)], f"{text!r} stands on another"


def rows_of(part, size, anchor="start"):
    """Yield each row of words with its size and about the box that it fills."""
    size, anchor = float(part.get("font-size", size)), part.get("text-anchor", anchor)
    if part.tag == f"{SVG}text" and part.text:
        x, y, width = float(part.get("x", "")), float(part.get("y", "")), len(part.text) * LETTER * size
        left = x - width * {"start": 0, "middle": 0.5, "end": 1}[anchor]
        yield part.text, size, (left, y - RISE * size, left + width, y + FALL * size)
    for inner in part:
        yield from rows_of(inner, size, anchor)


def stretches(picture):
    for one in picture.iter(f"{SVG}line"):
        x, y, u, v = (float(one.get(name, "")) for name in ("x1", "y1", "x2", "y2"))
        yield (x, y), (u, v)
    for one in picture.iter(f"{SVG}rect"):
        x, y, width, height = (float(one.get(name, "")) for name in ("x", "y", "width", "height"))
        corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y)]
        yield from pairwise(corners)
    for one in picture.iter(f"{SVG}polyline"):
        spots = [tuple(map(float, spot.split(","))) for spot in one.get("points", "").split()]
        yield from pairwise(spots)


def circles(picture):
    for one in picture.iter(f"{SVG}circle"):
        yield float(one.get("cx", "")), float(one.get("cy", "")), float(one.get("r", ""))


def crosses(box, start, end):
    """Whether a straight line passes through a box."""
    first, last = 0.0, 1.0
    for at, to, low, high in ((start[0], end[0], box[0], box[2]), (start[1], end[1], box[1], box[3])):
        if at == to:
            first = first if low < at < high else 2.0
            continue
        near, far = sorted(((low - at) / (to - at), (high - at) / (to - at)))
        first, last = max(first, near), min(last, far)
    return first < last


def touches(box, x, y, radius):
    return hypot(max(box[0] - x, x - box[2], 0), max(box[1] - y, y - box[3], 0)) < radius


def overlap(one, other):
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
