"""Load the invented demo: six situations to post, queries for calculations, and a match that plays by itself."""

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

DEMO_STORY = {
    "after-warm-up": "they missed 6 of 14 forehands and asked for many volleys.",
    "between-points": "one game each; you serve at 30-40.",
    "change-of-ends": "you held for 2-1; they came in behind 5 of 6 serves.",
    "set-break": "you broke in the tenth game and took the set 6-4.",
    "after-match": "you won 6-4 6-3; in set two they came in behind 13 of 32 serves.",
}
"""What has happened by each moment of the demo match."""


def demo_folder() -> Path:
    """Return this version's demo folder: beside the modules in a wheel, at the top level in a checkout."""
    package = Path(__file__).resolve().parent
    inside = package / "seeds_demo"
    return inside if inside.is_dir() else package.parent / "seeds_demo"


def demo_situation(moment: str) -> dict[str, Any]:
    """Return the demo match's situation at a moment, ready to post."""
    found: dict[str, Any] = json.loads((demo_folder() / f"{moment}.json").read_text(encoding="utf-8"))
    return found


@cache
def demo_match() -> Mapping[str, Any]:
    """Return the match that the front page plays: both players, the context, and the events of each step."""
    found: dict[str, Any] = json.loads((demo_folder() / "match.json").read_text(encoding="utf-8"))
    return found
