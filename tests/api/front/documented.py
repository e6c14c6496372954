"""The example of each problem that docs/problems.md shows."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

PAGE = Path(__file__).parents[3] / "docs" / "problems.md"
# what a client acts on; the other headers are the same with every answer
SHOWN = ("Content-Type", "Allow", "WWW-Authenticate", "Retry-After", "RateLimit-Policy")

SOME_SECONDS = "42"  # it depends on when one asks


@dataclass(frozen=True)
class Example:
    """A request as it is told, and its answer: the status line, the headers that are shown, and the body."""

    request: str
    status: str
    headers: Mapping[str, str]
    body: Any

    def text(self) -> str:
        """As it stands on the page."""
        head = [f"HTTP/1.1 {self.status}", *(f"{name}: {value}" for name, value in self.headers.items())]
        body = json.dumps(self.body, ensure_ascii=False, indent=2)
        return "\n".join(["```http", self.request, "", *head, "", body, "```"])


def example(request: str, status: str, headers: Mapping[str, str], body: bytes) -> Example:
    shown = {name: headers[name] for name in SHOWN if name in headers}
    if status.startswith("429"):
        shown["Retry-After"] = SOME_SECONDS
    return Example(request, status, shown, json.loads(body))


def sections() -> dict[str, str]:
    """The text of each problem's section, by its name."""
    found = re.split(r"^### `([a-z-]+)`\n\n", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
    return {name: text.strip() for name, text in zip(found[::2], found[1::2], strict=True)}
