"""Metres on the court ▶ units of the picture, and the lines of the court. You stand below and face up."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Self

from tacticapi.domain.court import BASELINE_M, CENTRE_MARK_M, SERVICE_LINE_M, SIDELINE_M, STICK_M
from tacticapi.pictures.svg import element, line

SCALE, SCALE_OF_BOXES = 24.0, 44.0  # units a metre
BESIDE_M, BEHIND_M, ROOM_M = 2.4, 2.8, 1.2  # shown beside the court, behind it, and around what stands further out
LINE, NET = 1.4, 3.0  # widths
POST = 3.0

Spot = tuple[float, float]


class View(StrEnum):
    """Which part of the court is shown."""

    WHOLE = "whole"
    OWN = "own"
    OPPONENT = "opponent"
    OWN_BOXES = "own-boxes"  # the service boxes alone, drawn larger
    OPPONENT_BOXES = "opponent-boxes"


@dataclass(frozen=True, slots=True)
class Frame:
    """What is shown, in metres: x from left to right, y from the near edge to the far one."""

    left: float
    right: float
    near: float
    far: float
    scale: float = SCALE

    @classmethod
    def around(cls, view: View, spots: Iterable[Spot], scale: float | None = None) -> Self:
        """The frame of a view, wide enough for these spots (metres); `scale` in units a metre, the view's own if None.

        The middle of the court stays in the middle.
        """
        boxes = view in (View.OWN_BOXES, View.OPPONENT_BOXES)
        depth, beside = (SERVICE_LINE_M + ROOM_M, ROOM_M) if boxes else (BASELINE_M + BEHIND_M, BESIDE_M)
        near = -ROOM_M if view in (View.OPPONENT, View.OPPONENT_BOXES) else -depth
        far = ROOM_M if view in (View.OWN, View.OWN_BOXES) else depth
        xs, ys = zip(*[(0.0, 0.0), *spots], strict=True)
        wide = max(SIDELINE_M + beside, ROOM_M + max(map(abs, xs)))
        scale = scale or (SCALE_OF_BOXES if boxes else SCALE)
        return cls(-wide, wide, min(near, min(ys) - ROOM_M), max(far, max(ys) + ROOM_M), scale)

    @property
    def size(self) -> Spot:
        """Width and height of the picture, in its units."""
        return (self.right - self.left) * self.scale, (self.far - self.near) * self.scale

    def at(self, spot: Spot) -> Spot:
        """The place in the picture of a spot on the court."""
        return (spot[0] - self.left) * self.scale, (self.far - spot[1]) * self.scale


def court_lines(frame: Frame) -> str:
    """The lines of the halves that are shown, and the net with its sticks."""
    drawn = [line(frame.at(a), frame.at(b)) for a, b in shown_lines(frame)]
    net = line(frame.at((-STICK_M, 0)), frame.at((STICK_M, 0)), stroke_width=NET)
    sticks = [_stick(frame.at((x, 0))) for x in (-STICK_M, STICK_M)]
    return element("g", *drawn, net, *sticks, stroke_width=LINE, stroke_linecap="square", opacity=0.75)


def shown_lines(frame: Frame) -> list[tuple[Spot, Spot]]:
    """Both ends (metres) of every line on the halves that are shown, cut where the frame ends."""
    halves = [-1] if frame.near < -SERVICE_LINE_M else []
    halves += [1] if frame.far > SERVICE_LINE_M else []
    lines = (ends for side in halves for ends in _half(side))
    return [(a, (b[0], max(frame.near, min(frame.far, b[1])))) for a, b in lines if frame.near < a[1] < frame.far]


def _half(side: int) -> Iterator[tuple[Spot, Spot]]:
    base, service = side * BASELINE_M, side * SERVICE_LINE_M
    for x in (-SIDELINE_M, SIDELINE_M):
        yield (x, 0), (x, base)
    for y in (base, service):
        yield (-SIDELINE_M, y), (SIDELINE_M, y)
    yield (0, 0), (0, service)
    yield (0, base), (0, base - side * CENTRE_MARK_M * 2)  # drawn twice as long, else it is lost in the baseline


def _stick(place: Spot) -> str:
    return element("circle", cx=place[0], cy=place[1], r=POST)
