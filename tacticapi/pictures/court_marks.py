"""Draw court lines and marks, in metres. You are at the bottom; shapes can be told apart in greyscale too."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from math import cos, hypot, radians, sin
from textwrap import wrap
from typing import Self

from tacticapi.domain.court import BASELINE_M, CENTRE_MARK_M, SERVICE_LINE_M, SIDELINE_M, STICK_M
from tacticapi.pictures.svg import ACCENT, LEADING, LETTER, Box, element, line, percent, tooltip, words

SCALE, SCALE_OF_HALF, SCALE_OF_BOXES = 8.5, 14.0, 30.0  # units per metre
WIDTH = 340.0  # units: about a phone's width, so that letters keep their size on it
BESIDE_M, BEHIND_M, ROOM_M = 2.4, 2.8, 1.2  # shown beside the court, behind it, and around marks further out
LINE, NET = 1.4, 3.0  # stroke widths
POST = 3.0

Spot = tuple[float, float]
DOT = 5.0
HEAD, HEAD_WIDTH, SHORT_OF = 10.0, 4.0, 9.0  # of an arrow; SHORT_OF is the gap at both of its ends
DASH = "6 4"
FIGURE, LETTER_OF_SIZE = 18.0, 0.74  # the font size of a share, and a letter's width as a part of it


class View(StrEnum):
    """The part of the court that is shown."""

    WHOLE = "whole"
    OWN = "own"
    OPPONENT = "opponent"
    OWN_BOXES = "own-boxes"  # the service boxes alone, drawn larger
    OPPONENT_BOXES = "opponent-boxes"


@dataclass(frozen=True, slots=True)
class Frame:
    """The area shown, in metres: x from left to right, y from the near edge to the far edge."""

    left: float
    right: float
    near: float
    far: float
    scale: float = SCALE

    @classmethod
    def around(cls, view: View, spots: Iterable[Spot], scale: float | None = None) -> Self:
        """Return a view's frame, large enough for these spots (m); `scale`: units per metre (None: the view's own)."""
        boxes = view in (View.OWN_BOXES, View.OPPONENT_BOXES)
        depth, beside = (SERVICE_LINE_M + ROOM_M, ROOM_M) if boxes else (BASELINE_M + BEHIND_M, BESIDE_M)
        near = -ROOM_M if view in (View.OPPONENT, View.OPPONENT_BOXES) else -depth
        far = ROOM_M if view in (View.OWN, View.OWN_BOXES) else depth
        xs, ys = zip(*[(0.0, 0.0), *spots], strict=True)
        wide = max(SIDELINE_M + beside, ROOM_M + max(map(abs, xs)))
        if scale is None:
            usual = SCALE_OF_BOXES if boxes else SCALE if view is View.WHOLE else SCALE_OF_HALF
            scale = min(usual, WIDTH / (2 * wide))
            wide = wide if boxes else WIDTH / (2 * scale)  # room for labels beside the court
        return cls(-wide, wide, min(near, min(ys) - ROOM_M), max(far, max(ys) + ROOM_M), scale)

    @property
    def size(self) -> Spot:
        """Return the width and height of the picture, in its units."""
        return (self.right - self.left) * self.scale, (self.far - self.near) * self.scale

    def at(self, spot: Spot) -> Spot:
        """Return where a spot on the court is in the picture."""
        return (spot[0] - self.left) * self.scale, (self.far - spot[1]) * self.scale


def court_lines(frame: Frame) -> str:
    """Return the lines on the halves shown, and the net with its sticks, as SVG."""
    drawn = [line(frame.at(a), frame.at(b)) for a, b in shown_lines(frame)]
    net = line(frame.at((-STICK_M, 0)), frame.at((STICK_M, 0)), stroke_width=NET)
    posts = (frame.at((x, 0)) for x in (-STICK_M, STICK_M))
    sticks = [element("circle", cx=x, cy=y, r=POST) for x, y in posts]
    return element("g", *drawn, net, *sticks, stroke_width=LINE, stroke_linecap="square", opacity=0.75)


def shown_lines(frame: Frame) -> list[tuple[Spot, Spot]]:
    """Return both ends (metres) of every line on the halves shown, clipped to the frame."""
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


@dataclass(frozen=True, slots=True)
class Target:
    """A target: two rings around a spot."""

    spot: Spot
    text: str
    radius_m: float = 0.5

    def corners(self) -> tuple[Spot, ...]:
        """Return the spots that the frame must contain."""
        return _around(self.spot, self.radius_m, self.radius_m)

    def drawn(self, frame: Frame) -> str:
        """Return the rings."""
        x, y = frame.at(self.spot)
        size = self.radius_m * frame.scale
        rings = [_circle(x, y, size * part, stroke=ACCENT, stroke_width=2) for part in (1.0, 0.45)]
        return element("g", tooltip(self.text), *rings)


@dataclass(frozen=True, slots=True)
class Person:
    """A player's position."""

    spot: Spot
    text: str
    own: bool = True

    def corners(self) -> tuple[Spot, ...]:
        """Return the spots that the frame must contain."""
        return (self.spot,)

    def drawn(self, frame: Frame) -> str:
        """Return a dot, filled for your player and open for the opponent."""
        x, y = frame.at(self.spot)
        fill = "currentColor" if self.own else "none"
        return element("g", tooltip(self.text), _circle(x, y, DOT, fill=fill, stroke_width=2))


@dataclass(frozen=True, slots=True)
class Path:
    """The path of the ball or a moving player, over at least two spots."""

    spots: tuple[Spot, ...]
    text: str = ""
    player: bool = False

    def corners(self) -> tuple[Spot, ...]:
        """Return the spots that the frame must contain."""
        return self.spots

    def drawn(self, frame: Frame) -> str:
        """Return an arrow."""
        places = [frame.at(spot) for spot in self.spots]
        places[0], places[-1] = _short_of(places[0], places[1]), _short_of(places[-1], places[-2])
        dash = {"stroke_dasharray": DASH} if self.player else {}
        shaft = element("polyline", points=_listed(places), fill="none", stroke=ACCENT, stroke_width=2, **dash)
        return element("g", tooltip(self.text), shaft, _head(places[-2], places[-1]))


@dataclass(frozen=True, slots=True)
class LandingArea:
    """The area where balls land, with the share in words: half axes across and along (metres), rotation (degrees)."""

    spot: Spot
    across_m: float
    along_m: float
    text: str
    turned: float = 0.0

    def corners(self) -> tuple[Spot, ...]:
        """Return the spots that the frame must contain."""
        c, s = cos(radians(self.turned)), sin(radians(self.turned))
        across, along = self.across_m, self.along_m
        return _around(self.spot, hypot(across * c, along * s), hypot(across * s, along * c))

    def drawn(self, frame: Frame) -> str:
        """Return a dashed outline; rotation is anticlockwise as seen from above."""
        x, y = frame.at(self.spot)
        turn = {"transform": f"rotate({-self.turned:.1f} {x:.1f} {y:.1f})"} if self.turned else {}
        rx, ry = self.across_m * frame.scale, self.along_m * frame.scale
        look: dict[str, str | float] = {"fill_opacity": 0.08, "stroke": "currentColor", "stroke_dasharray": "3 3"}
        return element("g", tooltip(self.text), element("ellipse", cx=x, cy=y, rx=rx, ry=ry, **look, **turn))


@dataclass(frozen=True, slots=True)
class Share:
    """A part of the court between two opposite corners, with its share (0 to 1) as a figure and a word or two."""

    corner: Spot
    opposite: Spot
    share: float | None
    text: str = ""
    beneath: str = ""
    main: bool = False
    told: str = ""  # its name in the text alternative; defaults to its text

    @property
    def figure(self) -> str:
        """Return the share as text; a dash if nothing was seen."""
        return "–" if self.share is None else percent(self.share)

    def corners(self) -> tuple[Spot, ...]:
        """Return the spots that the frame must contain."""
        return self.corner, self.opposite

    def drawn(self, frame: Frame) -> str:
        """Return an outline with the figure in the middle, in bold for the main share."""
        x, y, right, bottom = box_of(frame, self.corners())
        middle, level = (x + right) / 2, (y + bottom) / 2
        short = self.figure.replace("under ", "<").replace("over ", ">")
        size = min(FIGURE, (right - x) / (LETTER_OF_SIZE * max(4, len(short))))
        weight = "bold" if self.main else "normal"
        rows = wrap(self.beneath, max(1, int((right - x) / LETTER)))
        edge = element("rect", x=x, y=y, width=right - x, height=bottom - y, fill="none", stroke="currentColor",
                       stroke_opacity=0.6, stroke_dasharray="2 3")  # fmt: skip
        return element(
            "g",
            edge,
            words(self.text, middle, level - FIGURE),
            words(short, middle, level + 4, font_size=size, font_weight=weight),
            *(words(row, middle, level + FIGURE + 4 + LEADING * n) for n, row in enumerate(rows)),
            text_anchor="middle",
        )


@dataclass(frozen=True, slots=True)
class Note:
    """Text at a spot on the court, in one or more rows."""

    spot: Spot
    text: str

    def drawn(self, frame: Frame) -> str:
        """Return the text, centred on the spot."""
        x, y = frame.at(self.spot)
        rows = self.text.split("\n")
        look: dict[str, str | float] = {"text_anchor": "middle", "font_weight": "bold"}
        return "".join(words(row, x, y + 4 + LEADING * n, **look) for n, row in enumerate(rows))


Mark = Target | Person | Path | LandingArea


def box_of(frame: Frame, corners: tuple[Spot, ...]) -> Box:
    """Return the box around these court spots in the picture."""
    xs, ys = zip(*map(frame.at, corners), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _around(spot: Spot, across: float, along: float) -> tuple[Spot, Spot]:
    return (spot[0] - across, spot[1] - along), (spot[0] + across, spot[1] + along)


def _circle(x: float, y: float, radius: float, **look: str | float) -> str:
    return element("circle", cx=x, cy=y, r=radius, **{"fill": "none", "stroke": "currentColor", **look})


def _short_of(end: Spot, before: Spot) -> Spot:
    length = hypot(end[0] - before[0], end[1] - before[1])
    part = min(SHORT_OF / length, 0.25) if length else 0.0
    return end[0] + (before[0] - end[0]) * part, end[1] + (before[1] - end[1]) * part


def _head(before: Spot, end: Spot) -> str:
    dx, dy = end[0] - before[0], end[1] - before[1]
    length = hypot(dx, dy) or 1.0
    dx, dy = dx / length, dy / length
    base = end[0] - dx * HEAD, end[1] - dy * HEAD
    sides = [(base[0] - dy * HEAD_WIDTH * side, base[1] + dx * HEAD_WIDTH * side) for side in (1, -1)]
    return element("polygon", points=_listed([end, *sides]), fill=ACCENT)


def _listed(places: list[Spot]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
