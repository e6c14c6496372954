"""Build pictures: elements with escaped content (SVG 2, https://www.w3.org/TR/SVG2/), and labels kept apart."""

from collections.abc import Iterator, Sequence
from html import escape
from itertools import product
from math import hypot
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

Value = str | int | float
SIZE, LEADING = 12.0, 14.0
LETTER = 0.69 * SIZE  # the mean letter width of the widest common screen font, bold
LINE_LETTERS, MAX_LABEL_LETTERS = (22, 16, 12, 9), 66  # letters per row in order of preference, and in all
GAP = 4.0
CLEAR = 3.0  # half the side of the boxes that represent a line
STEP, REACH = 5.0, 60.0  # the step and range of the search for a label's place
ASIDE, A_ROW = 0.25, 3.0  # the penalty for a label off the middle of its mark, and for each row
SHORT = 2.0  # the gap between a label and its leader line
NEAR, LEADER = 9.0, 0.8  # a label further off gets a leader line of this width
HALO = 3.0  # width, in the paper's colour, so that a label stays legible across a line

Spot = tuple[float, float]
Box = tuple[float, float, float, float]  # left, top, right, bottom


def element(name: str, *content: str, **attributes: Value) -> str:
    """Return an element. `content` is markup; underscores of attributes become hyphens (`class_` becomes class)."""
    named = "".join(f' {key.rstrip("_").replace("_", "-")}="{clean(figure(of))}"' for key, of in attributes.items())
    inner = "".join(content)
    return f"<{name}{named}>{inner}</{name}>" if inner else f"<{name}{named}/>"


def words(text: str, x: float, y: float, **attributes: Value) -> str:
    """Return a line of text on the baseline y."""
    return element("text", clean(text), x=x, y=y, **attributes)


def line(start: tuple[float, float], end: tuple[float, float], **attributes: Value) -> str:
    """Return a straight line, by default in the colour of the text around the picture."""
    return element("line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], **{"stroke": "currentColor", **attributes})


def tooltip(text: str) -> str:
    """Return a tooltip of the element around it, which screen readers read too."""
    return element("title", clean(text))


def picture(name: str, size: tuple[float, float], title: str, description: str, *content: str) -> str:
    """Return the whole picture. `name` keeps its ids unique on the page."""
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
    """Return a standalone picture, light or dark like the reader's screen, and white in print."""
    head, _, rest = drawn.partition(">")
    return f'{head} class="alone">{element("style", _INK_AND_PAPER)}{rest}'


def clean(text: str) -> str:
    """Return text escaped for an element or an attribute."""
    return escape(text.translate(_NOT_XML))


def shortened(text: str, max_length: int) -> str:
    """Return the text, cut to the length."""
    return text if len(text) <= max_length else text[: max_length - 1].rstrip() + "…"


def figure(value: Value) -> str:
    """Return a number as text, a float with at most one decimal place."""
    return f"{value:.1f}".removesuffix(".0") if isinstance(value, float) else str(value)


def rows_of(text: str, letters: int) -> list[str]:
    """Return the text in rows of at most `letters` letters, at least one row."""
    return wrap(text, letters) or [""]


def percent(share: float) -> str:
    """Return a share (0 to 1) in whole percent; 0 and 100 only if exact."""
    whole = round(100 * share)
    if whole == 0 and share > 0:
        return "under 1 %"
    if whole == 100 and share < 1:
        return "over 99 %"
    return f"{whole} %"


class Labels:
    """Places labels one after another, each as near to its mark as possible without touching anything."""

    def __init__(self, size: Spot, taken: Sequence[Box] = ()) -> None:
        """Set the size of the picture, and the boxes that labels must not touch."""
        self._width, self._height = size
        self._taken, self._labels = list(taken), list[Box]()

    def write(self, text: str, anchors: Sequence[Box], **attributes: str | float) -> str:
        """Return a label near one of the anchor boxes; if it is further off, a thin line leads to it."""
        rows, box, around = self._placed(shortened(text, MAX_LABEL_LETTERS), anchors)
        middle = (box[0] + box[2]) / 2
        lines = [words(row, middle, box[1] + LEADING * (n + 0.8)) for n, row in enumerate(rows)]
        self._labels.append((box[0] - GAP, box[1], box[2] + GAP, box[3]))
        label = element("g", *lines, **{**_HALO, "font_size": SIZE, "text_anchor": "middle", **attributes})
        return label if _gap(box, around) <= NEAR else self._leader(box, around) + label

    def _placed(self, text: str, anchors: Sequence[Box]) -> tuple[list[str], Box, Box]:
        """Return rows, box and anchor of a label: the best that touches nothing, else the one that touches least."""
        found = (place for around in anchors for place in self._places(text, around))
        places = [place[1:] for place in sorted(found, key=itemgetter(0))]
        free = (place for place in places if not self._touched(place[1]) and self._is_led(*place[1:]))
        return next(free, None) or min(places, key=lambda place: self._touched(place[1]))

    def _places(self, text: str, around: Box) -> Iterator[tuple[float, list[str], Box, Box]]:
        """Yield each possible place of the label, for several row lengths: its penalty, rows, box and anchor."""
        left, top, right, bottom = around
        ways = [rows_of(text, letters) for letters in LINE_LETTERS]
        for rows, before in zip(ways, [None, *ways], strict=False):
            width, height = max(map(len, rows)) * LETTER, LEADING * len(rows)
            if rows == before or (width > self._width - 2 * GAP and rows is not ways[-1]):
                continue
            across = _steps((left + right - width) / 2, (right - left + width) / 2 + REACH, self._width - width)
            along = _steps((top + bottom - height) / 2, (bottom - top + height) / 2 + REACH, self._height - height)
            for x, y in product(across, along):
                box = (x, y, x + width, y + height)
                if (off := _gap(box, around)) >= GAP:
                    aside = abs(x + (width - left - right) / 2)
                    yield off + ASIDE * aside + A_ROW * len(rows), rows, box, around

    def _leader(self, box: Box, around: Box) -> str:
        left, top, right, bottom = box
        end = _nearest((left - SHORT, top - SHORT, right + SHORT, bottom + SHORT), around)
        start = _nearest(around, box)
        self._taken += along(start, end)
        return line(start, end, stroke_width=LEADER, stroke_opacity=0.7)

    def _touched(self, box: Box) -> int:
        return sum(_touch(box, other) for other in (*self._taken, *self._labels))

    def _is_led(self, box: Box, around: Box) -> bool:
        """Return whether a label here needs no leader line, or one that crosses no other label."""
        way = along(_nearest(around, box), _nearest(box, around)) if _gap(box, around) > NEAR else ()
        return not any(_touch(spot, label) for spot in way for label in self._labels)


def along(start: Spot, end: Spot) -> list[Box]:
    """Return small boxes that cover a line in a picture."""
    steps = max(1, round(hypot(end[0] - start[0], end[1] - start[1]) / (2 * CLEAR)))
    parts = [n / steps for n in range(steps + 1)]
    return [around_spot(start[0] + (end[0] - start[0]) * p, start[1] + (end[1] - start[1]) * p) for p in parts]


def around_spot(x: float, y: float) -> Box:
    """Return the box around a spot that labels must not touch."""
    return x - CLEAR, y - CLEAR, x + CLEAR, y + CLEAR


def _steps(middle: float, reach: float, room: float) -> list[float]:
    """Return positions on both sides of the middle, within reach and inside the picture, in ascending order."""
    count = int(reach // STEP) + 1
    found = {min(max(middle + STEP * n, GAP), room - GAP) for n in range(-count, count + 1)}
    return sorted(found)


def _gap(one: Box, other: Box) -> float:
    return hypot(max(one[0] - other[2], other[0] - one[2], 0), max(one[1] - other[3], other[1] - one[3], 0))


def _nearest(one: Box, other: Box) -> Spot:
    """Return the spot of one box that is nearest to the middle of another."""
    x, y = (other[0] + other[2]) / 2, (other[1] + other[3]) / 2
    return min(max(x, one[0]), one[2]), min(max(y, one[1]), one[3])


_HALO: dict[str, str | float] = {"stroke": PAPER, "stroke_width": HALO, "stroke_linejoin": "round"}
_HALO["paint_order"] = "stroke"


def _touch(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
