"""Where the labels of a court picture belong, and what they keep off."""

from itertools import pairwise
from math import hypot

from tacticapi.pictures.court_marks import DOT, Mark, Path, Person, Target, box_of
from tacticapi.pictures.court_view import Frame, Spot
from tacticapi.pictures.labels import Box, Labels

STEP = 3.0  # half the side of the boxes that stand for a line


def label_of(mark: Mark, frame: Frame, labels: Labels) -> str:
    """The label of a mark beside it."""
    weight = {"font_weight": "bold"} if isinstance(mark, Target | Person) else {}
    return labels.write(mark.text, extent(mark, frame), **weight) if mark.text else ""


def extent(mark: Mark, frame: Frame) -> Box:
    """The box in the picture that the label of a mark belongs to; that of a way is the middle of its last stretch."""
    if isinstance(mark, Path):
        (x, y), (u, v) = map(frame.at, mark.spots[-2:])
        return _spot_box((x + u) / 2, (y + v) / 2)
    left, top, right, bottom = box_of(frame, mark.corners())
    room = DOT if isinstance(mark, Person) else 0.0
    return left - room, top - room, right + room, bottom + room


def covers(mark: Mark, frame: Frame) -> list[Box]:
    """What a label must not stand on; a way is many small boxes."""
    if not isinstance(mark, Path):
        return [extent(mark, frame)]
    places = [frame.at(spot) for spot in mark.spots]
    return [box for a, b in pairwise(places) for box in along(a, b)]


def along(start: Spot, end: Spot) -> list[Box]:
    """Small boxes all along a line in the picture."""
    steps = max(1, round(hypot(end[0] - start[0], end[1] - start[1]) / (2 * STEP)))
    parts = [n / steps for n in range(steps + 1)]
    return [_spot_box(start[0] + (end[0] - start[0]) * p, start[1] + (end[1] - start[1]) * p) for p in parts]


def _spot_box(x: float, y: float) -> Box:
    return x - STEP, y - STEP, x + STEP, y + STEP
