"""The parts of a picture: elements with escaped content (SVG 2, https://www.w3.org/TR/SVG2/), and labels kept apart."""

from collections.abc import Sequence
from html import escape
from textwrap import wrap

NAMESPACE = "http://www.w3.org/2000/svg"
ACCENT = "#3f82c4"  # stands out from black and from white alike
FONT = "system-ui, sans-serif"
# XML 1.0 knows no control characters but tab and line breaks, not even escaped
_NOT_XML = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF, *range(0xD800, 0xE000)))

_INK_AND_PAPER = """
.alone { --paper: #fdfdfb; color: #1c2024; background: var(--paper); }
@media (prefers-color-scheme: dark) { .alone { --paper: #16191c; color: #e6e7e3; } }
@media print { .alone { --paper: #fff; color: #000; } }
"""

Value = str | int | float
SIZE, LEADING = 12.0, 14.0
LETTER = 0.64 * SIZE  # a mean letter of a bold screen face
MAX_LINE_LETTERS, MAX_LABEL_LETTERS = 22, 66  # letters a line, and in all
GAP = 4.0
OVER_KEPT = 20.0  # so much worse is a label over another or over a mark than one over a line
AT_CORNER = 150.0  # a corner is less clear than a side: as much worse as a line through the label
HALO = 3.0  # of the paper's colour, so that a label can be read across a line

Box = tuple[float, float, float, float]  # left, top, right, bottom


def element(name: str, *content: str, **attributes: Value) -> str:
    """An element. `content` is markup already; an attribute's underscores become hyphens (`class_` becomes class)."""
    named = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{clean(_figure(value))}"' for key, value in attributes.items()
    )
    inner = "".join(content)
    return f"<{name}{named}>{inner}</{name}>" if inner else f"<{name}{named}/>"


def words(text: str, x: float, y: float, **attributes: Value) -> str:
    """A line of text that stands on y."""
    return element("text", clean(text), x=x, y=y, **attributes)


def line(start: tuple[float, float], end: tuple[float, float], **attributes: Value) -> str:
    """A straight line, as dark as the text around the picture unless told otherwise."""
    return element("line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], **{"stroke": "currentColor", **attributes})


def tooltip(text: str) -> str:
    """What a pointer that rests on the element around it is told, and a screen reader too."""
    return element("title", clean(text))


def picture(name: str, size: tuple[float, float], title: str, description: str, *content: str) -> str:
    """The whole picture. `name` tells its ids apart from those of other pictures on the page."""
    width, height = size
    return element(
        "svg",
        element("title", clean(title), id=f"{name}-title"),
        element("desc", clean(description), id=f"{name}-desc"),
        *content,
        xmlns=NAMESPACE,
        viewBox=f"0 0 {_figure(width)} {_figure(height)}",
        role="img",
        aria_labelledby=f"{name}-title {name}-desc",
        font_family=FONT,
        font_size=12,
        fill="currentColor",
    )


def alone(drawn: str) -> str:
    """A picture as a file of its own, with ink and paper: light or dark as the reader's screen, white in print."""
    head, _, rest = drawn.partition(">")
    return f'{head} class="alone">{element("style", _INK_AND_PAPER)}{rest}'


def clean(text: str) -> str:
    """Text that can stand in an element or an attribute."""
    return escape(text.translate(_NOT_XML))


def shortened(text: str, max_length: int) -> str:
    """The text, cut where it is longer than so many characters."""
    return text if len(text) <= max_length else text[: max_length - 1].rstrip() + "…"


def _figure(value: Value) -> str:
    return f"{value:.1f}".removesuffix(".0") if isinstance(value, float) else str(value)


def percent(share: float) -> str:
    """A share (0 to 1) in whole percent; never 0 or 100 for what is not."""
    whole = round(100 * share)
    if whole == 0 and share > 0:
        return "under 1 %"
    if whole == 100 and share < 1:
        return "over 99 %"
    return f"{whole} %"


class Labels:
    """Places labels one after another: off what is `kept` free, and on as little as can be of the `lines`."""

    def __init__(self, size: tuple[float, float], lines: Sequence[Box] = (), kept: Sequence[Box] = ()) -> None:
        """Begin a picture of this size without a label."""
        self._width, self._height = size
        self._lines, self._kept = lines, list(kept)

    def write(self, text: str, around: Box, **attributes: str | float) -> str:
        """The label beside the box that it names, on the side or corner where it covers least."""
        rows = wrap(shortened(text, MAX_LABEL_LETTERS), MAX_LINE_LETTERS) or [""]
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
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    return wide * high if wide > 0 and high > 0 else 0.0
