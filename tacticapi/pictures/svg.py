"""Build pictures: elements with escaped content (SVG 2, https://www.w3.org/TR/SVG2/), and non-overlapping labels."""

from collections.abc import Iterator, Sequence
from html import escape
from itertools import product
from math import dist
from operator import itemgetter
from textwrap import wrap

NAMESPACE = "http://www.w3.org/2000/svg"
ACCENT = "#3f82c4"  # stands out from black and from white alike
PAPER = "var(--paper, Canvas)"
FONT = "system-ui, sans-serif"
# XML 1.0 allows no control characters except tab and line breaks, not even escaped
_NOT_XML = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF, *range(0xD800, 0xE000)))

_INK_AND_PAPER = """
.alone { --paper: #fdfdfb; color: #1c2024; background: var(--paper); }
@media (prefers-color-scheme: dark) { .alone { --paper: #16191c; color: #e6e7e3; } }
@media print { .alone { --paper: #fff; color: #000; } }
"""

Value = str | float
SIZE, LEADING = 12.0, 14.0
LETTER = 0.69 * SIZE  # the mean letter width of the widest common screen font, bold
LINE_LETTERS = (22, 16, 12, 9)  # letters per row of a label, in order of preference
GAP = 4.0
CLEAR = 3.0  # half the side of the boxes that represent a line
OFF, SIDES = range(4, 64, 6), (0.0, 0.5, -0.5, 1.0, -1.0)  # the tried distances and sides of a label
A_ROW = 3.0  # each row of a label counts as so much more distance
NEAR, LEADER = 9.0, 0.8  # a label further off gets a leader line of this width
HALO = 3.0  # width, in the paper's colour, so that a label stays legible across a line

Spot = tuple[float, float]
Box = tuple[float, float, float, float]  # left, top, right, bottom
_LabelPlace = tuple[float, list[str], Box, tuple[Spot, Spot] | None]
"""A place for a label: its penalty, rows and box, and the ends of its leader line if it needs one."""


def element(name: str, *content: str, **attributes: Value) -> str:
    """Return an element. `content` is markup; underscores in attributes become hyphens (`class_` becomes class)."""
    named = "".join(f' {key.rstrip("_").replace("_", "-")}="{clean(figure(of))}"' for key, of in attributes.items())
    inner = "".join(content)
    return f"<{name}{named}>{inner}</{name}>" if inner else f"<{name}{named}/>"


def words(text: str, x: float, y: float, **attributes: Value) -> str:
    """Return a line of text on the baseline y."""
    return element("text", clean(text), x=x, y=y, **attributes)


def line(start: Spot, end: Spot, **attributes: Value) -> str:
    """Return a straight line, by default in the colour of the surrounding text."""
    return element("line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], **{"stroke": "currentColor", **attributes})


def tooltip(text: str) -> str:
    """Return a tooltip for the enclosing element, which screen readers read too."""
    return element("title", clean(text))


def picture(name: str, size: Spot, title: str, description: str, *content: str) -> str:
    """Return the whole picture. `name` makes its ids unique on the page."""
    width, height = size
    return element(
        "svg",
        element("title", clean(title), id=f"{name}-title"),
        element("desc", clean(description), id=f"{name}-desc"),
        *content,
        xmlns=NAMESPACE,
        viewBox=f"0 0 {figure(width)} {figure(height)}",
        role="img",
        aria_labelledby=f"{name}-title {name}-desc",
        font_family=FONT,
        font_size=12,
        fill="currentColor",
    )


def alone(drawn: str) -> str:
    """Return a standalone picture, light or dark to match the reader's screen, and white in print."""
    head, _, rest = drawn.partition(">")
    return f'{head} class="alone">{element("style", _INK_AND_PAPER)}{rest}'


def clean(text: str) -> str:
    """Return text escaped for an element or an attribute."""
    return escape(text.translate(_NOT_XML))


def shortened(text: str, max_length: int) -> str:
    """Return the text, shortened to this length."""
    return text if len(text) <= max_length else text[: max_length - 1].rstrip() + "…"


def figure(value: Value) -> str:
    """Return a number as text, a float with at most one decimal place."""
    return f"{value:.1f}".removesuffix(".0") if isinstance(value, float) else str(value)


def rows_of(text: str, letters: int) -> list[str]:
    """Return the text in rows of at most `letters` letters, at least one row."""
    return wrap(text, letters) or [""]


def percent(share: float) -> str:
    """Return a share (0 to 1) as a whole percentage; 0 and 100 only if exact."""
    whole = round(100 * share)
    if whole == 0 and share > 0:
        return "under 1%"
    if whole == 100 and share < 1:
        return "over 99%"
    return f"{whole}%"


class Labels:
    """Places labels one after another, each near its mark and, if possible, without touching anything."""

    def __init__(self, size: Spot, taken: Sequence[Box] = ()) -> None:
        """Set the size of the picture, and the boxes that labels must not touch."""
        self._width, self._height = size
        self._taken, self._labels = list(taken), list[Box]()

    def write(self, text: str, anchors: Sequence[Box], **attributes: Value) -> str:
        """Return a label near one of the anchor boxes; if it is further away, a thin line leads to it."""
        places = sorted((place for around in anchors for place in self._places(text, around)), key=itemgetter(0, 2))
        free = (place for place in places if not self._touched(place))
        _, rows, box, way = next(free, None) or min(places, key=self._touched)
        middle = (box[0] + box[2]) / 2
        lines = [words(row, middle, box[1] + LEADING * (n + 0.8)) for n, row in enumerate(rows)]
        label = element("g", *lines, **{**_HALO, "font_size": SIZE, "text_anchor": "middle", **attributes})
        self._labels.append((box[0] - GAP, box[1], box[2] + GAP, box[3]))
        if not way:
            return label
        self._taken += along(*way)
        return line(*way, stroke_width=LEADER, stroke_opacity=0.7) + label

    def _places(self, text: str, around: Box) -> Iterator[_LabelPlace]:
        left, top, right, bottom = around
        for letters in LINE_LETTERS:
            rows = rows_of(text, letters)
            width, height = max(map(len, rows)) * LETTER, LEADING * len(rows)
            for off, across, up in product(OFF, SIDES, SIDES):
                x = (left + right - width + across * (right - left + width + 2 * off)) / 2
                y = (top + bottom - height + up * (bottom - top + height + 2 * off)) / 2
                x, y = min(max(x, GAP), self._width - width - GAP), min(max(y, GAP), self._height - height - GAP)
                box = x, y, x + width, y + height
                end = _nearest(box, ((left + right) / 2, (top + bottom) / 2))
                start = _nearest(around, end)
                yield off + A_ROW * len(rows), rows, box, (start, end) if dist(start, end) > NEAR else None

    def _touched(self, place: _LabelPlace) -> int:
        """Return how many boxes a label would touch here, and how many labels its leader line would cross."""
        _, _, box, way = place
        crossed = (_touch(part, label) for part in (along(*way) if way else ()) for label in self._labels)
        return sum(crossed) + sum(_touch(box, other) for other in (*self._taken, *self._labels))


def along(start: Spot, end: Spot) -> list[Box]:
    """Return small boxes that together cover a line in a picture."""
    steps = max(1, round(dist(start, end) / (2 * CLEAR)))
    parts = [n / steps for n in range(steps + 1)]
    return [around_spot(start[0] + (end[0] - start[0]) * p, start[1] + (end[1] - start[1]) * p) for p in parts]


def around_spot(x: float, y: float) -> Box:
    """Return the box around a spot that labels must not touch."""
    return x - CLEAR, y - CLEAR, x + CLEAR, y + CLEAR


def _nearest(box: Box, to: Spot) -> Spot:
    return min(max(to[0], box[0]), box[2]), min(max(to[1], box[1]), box[3])


_HALO: dict[str, str | float] = {"stroke": PAPER, "stroke_width": HALO, "stroke_linejoin": "round"}
_HALO["paint_order"] = "stroke"


def _touch(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
