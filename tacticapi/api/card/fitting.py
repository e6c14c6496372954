"""How large the text of a card can be so that all of it stands on one page."""

from collections.abc import Sequence
from textwrap import wrap

SIZES_PT = (10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0, 5.75, 5.5, 5.25, 5.0)
MM_A_PT = 25.4 / 72
WIDTH_MM, HEIGHT_MM = 97.0, 137.0  # inside the margins, and 3 mm less in height: faces differ
LETTER = 0.56  # width of a mean letter of the widest usual screen face, in heights of the text
LEADING, BETWEEN = 1.25, 0.3  # height of a line, and what stands below a paragraph, in heights of the text
FRAME = 4.5  # title, headings and rules together, in heights of the text


def size_pt(paragraphs: Sequence[str], fixed_mm: float) -> float:
    """The largest size at which the paragraphs fit beside what keeps its height in mm; the smallest if none does."""
    return next((size for size in SIZES_PT if height_mm(paragraphs, size) + fixed_mm <= HEIGHT_MM), SIZES_PT[-1])


def height_mm(paragraphs: Sequence[str], size: float) -> float:
    """About how high a card is with these paragraphs at this size, pictures and frames left out."""
    letters = int(WIDTH_MM / (LETTER * size * MM_A_PT))
    lines = sum(len(wrap(text, letters)) for text in paragraphs)
    return size * MM_A_PT * (LEADING * lines + BETWEEN * len(paragraphs) + FRAME)
