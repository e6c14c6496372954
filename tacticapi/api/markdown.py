"""Text that people typed, made safe to stand in Markdown (CommonMark), and small parts of a document."""

import re
from collections.abc import Iterable, Sequence

_SPECIAL = re.compile(r"([\\`*_\[\]<>|~&#!])")
_BREAKS = re.compile(r"\s+")


def plain(text: str) -> str:
    """The text on one line, with nothing in it that Markdown would read as markup."""
    return _SPECIAL.sub(r"\\\1", _BREAKS.sub(" ", text).strip())


def bullets(lines: Iterable[str]) -> str:
    """A list; lines are Markdown already."""
    return "\n".join(f"- {line}" for line in lines)


def section(title: str, body: str) -> str:
    """A heading with what stands under it, or nothing where that is empty."""
    return f"## {title}\n\n{body}" if body else ""


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table of plain texts, or nothing without rows."""
    lines = [f"| {' | '.join(plain(cell) for cell in row)} |" for row in rows]
    if not lines:
        return ""
    return "\n".join([f"| {' | '.join(head)} |", f"|{'---|' * len(head)}", *lines])


def joined(*blocks: str) -> str:
    """A document of these blocks; empty ones are left out."""
    return "\n\n".join(block for block in blocks if block) + "\n"
