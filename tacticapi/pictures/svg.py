"""The parts of a picture: elements with escaped content (SVG 2, https://www.w3.org/TR/SVG2/)."""

from html import escape

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


def shortened(text: str, most: int) -> str:
    """The text, cut where it is longer than so many characters."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _figure(value: Value) -> str:
    return f"{value:.1f}".removesuffix(".0") if isinstance(value, float) else str(value)
