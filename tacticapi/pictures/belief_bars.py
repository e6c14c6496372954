"""Beliefs as bars, each with the evidence behind it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

from tacticapi.pictures.svg import ACCENT, element, line, percent, picture, rows_of, shortened, tooltip, words

WIDTH = 340.0  # about that of a phone, so that letters keep their size on it
LEFT, RIGHT = 4.0, 256.0
ROW, BAR, HEAD = 62.0, 12.0, 24.0
LEADING = 15.0
MAX_LABEL_LETTERS, MAX_EVIDENCE_LETTERS = 36, 40  # letters a line
TITLE = "Beliefs about the opponent, and what was seen"


@dataclass(frozen=True, slots=True)
class BeliefBar:
    """A belief: what it is about, its probability before and now (0 to 1), and the evidence in words."""

    label: str
    before: float
    now: float
    evidence: str


def belief_bars(bars: Sequence[BeliefBar], name: str = "beliefs", title: str = TITLE) -> str:
    """Return the picture as SVG text, one row a belief, in the order given. Raises ValueError without any."""
    if not bars:
        raise ValueError("no belief to draw")
    heights = [ROW + LEADING * (len(rows_of(bar.evidence, MAX_EVIDENCE_LETTERS)) - 1) for bar in bars]
    tops = accumulate(heights, initial=HEAD)
    drawn = [part for bar, top in zip(bars, tops, strict=False) for part in _row(bar, top)]
    key = words("bar: now; upright mark: before", LEFT, 14, fill_opacity=0.8)
    return picture(name, (WIDTH, HEAD + sum(heights)), title, _description(bars), key, *drawn)


def _row(bar: BeliefBar, top: float) -> Iterator[str]:
    """Yield the label, the bar with its figure, and the evidence; the tooltip shows a cut label whole."""
    y, full = top + 20, RIGHT - LEFT
    mark = LEFT + full * bar.before
    yield element(
        "g",
        tooltip(_told(bar)),
        words(shortened(bar.label, MAX_LABEL_LETTERS), LEFT, top + 14, font_size=13, font_weight="bold"),
        element("rect", x=LEFT, y=y, width=full, height=BAR, rx=3, fill_opacity=0.12),
        element("rect", x=LEFT, y=y, width=full * bar.now, height=BAR, rx=3, fill=ACCENT),
        line((mark, y - 3), (mark, y + BAR + 3), stroke_width=2),
        words(percent(bar.now), RIGHT + 8, y + BAR - 1),
        *(
            words(text, LEFT, y + BAR + 15 + LEADING * n, fill_opacity=0.8)
            for n, text in enumerate(rows_of(bar.evidence, MAX_EVIDENCE_LETTERS))
        ),
    )


def _told(bar: BeliefBar) -> str:
    return f"{bar.label}: {percent(bar.now)}, before {percent(bar.before)}. {bar.evidence}".rstrip()


def _description(bars: Sequence[BeliefBar]) -> str:
    return " ".join(f"{told if told.endswith('.') else told + '.'}" for told in map(_told, bars))
