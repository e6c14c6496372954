"""Labels that keep out of each other's way and inside the picture."""

from collections.abc import Sequence
from textwrap import wrap

from tacticapi.pictures.svg import element, shortened, words

SIZE, LEADING = 12.0, 14.0
LETTER = 0.64 * SIZE  # a mean letter of a bold screen face
WIDEST, LONGEST = 22, 66  # letters a line, and in all
GAP = 4.0
OVER_KEPT = 20.0  # so much worse is a label over another or over a mark than one over a line
AT_CORNER = 150.0  # a corner is less clear than a side: as much worse as a line through the label
HALO = 3.0  # of the paper's colour, so that a label can be read across a line

Box = tuple[float, float, float, float]  # left, top, right, bottom


class Labels:
    """Places labels one after another: off what is `kept` free, and on as little as can be of the `lines`."""

    def __init__(self, size: tuple[float, float], lines: Sequence[Box] = (), kept: Sequence[Box] = ()) -> None:
        """Begin a picture of this size without a label."""
        self._width, self._height = size
        self._lines, self._kept = lines, list(kept)

    def write(self, text: str, around: Box, **attributes: str | float) -> str:
        """The label beside the box that it names, on the side or corner where it covers least."""
        rows = wrap(shortened(text, LONGEST), WIDEST) or [""]
        width, height = max(map(len, rows)) * LETTER, LEADING * len(rows)
        box = min(self._places(around, width, height), key=lambda place: place[1] + self._covered(place[0]))[0]
        self._kept.append((box[0] - GAP, box[1], box[2] + GAP, box[3]))
        middle = (box[0] + box[2]) / 2
        lines = [words(row, middle, box[1] + LEADING * (n + 0.8)) for n, row in enumerate(rows)]
        return element("g", *lines, **{**_HALO, "font_size": SIZE, "text_anchor": "middle", **attributes})

    def _places(self, around: Box, width: float, height: float) -> list[tuple[Box, float]]:
        """Where the label can stand, and what is against each place from the start."""
        left, top, right, bottom = around
        x, y = (left + right - width) / 2, (top + bottom - height) / 2
        over, under, after, before = top - GAP - height, bottom + GAP, right + GAP, left - GAP - width
        places = [(x, under, 0.0), (x, over, 0.0), (after, y, 0.0), (before, y, 0.0)]
        places += [(aside, level, AT_CORNER) for aside in (after, before) for level in (under, over)]
        return [(self._inside((a, b, a + width, b + height)), against) for a, b, against in places]

    def _inside(self, box: Box) -> Box:
        """The box, moved into the picture."""
        dx = max(GAP - box[0], 0) or min(self._width - GAP - box[2], 0)
        dy = max(GAP - box[1], 0) or min(self._height - GAP - box[3], 0)
        return box[0] + dx, box[1] + dy, box[2] + dx, box[3] + dy

    def _covered(self, box: Box) -> float:
        kept = sum(_common(box, other) for other in self._kept)
        return OVER_KEPT * kept + sum(_common(box, other) for other in self._lines)


_HALO: dict[str, str | float] = {
    "stroke": "var(--paper, Canvas)",
    "stroke_width": HALO,
    "stroke_linejoin": "round",
    "paint_order": "stroke",
}


def _common(one: Box, other: Box) -> float:
    """The area that two boxes share."""
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    return wide * high if wide > 0 and high > 0 else 0.0
