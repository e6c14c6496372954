"""The invented demo: its folder, six situations ready to post, and questions for the calculations."""

import json
from pathlib import Path
from typing import Any


def demo_folder() -> Path:
    """The demo of this version: beside the modules in a wheel, at the top of a checkout."""
    package = Path(__file__).resolve().parent
    inside = package / "seeds_demo"
    return inside if inside.is_dir() else package.parent / "seeds_demo"


def demo_situation(moment: str) -> dict[str, Any]:
    """Return the situation of the demo match at a moment, as it is posted."""
    found: dict[str, Any] = json.loads((demo_folder() / f"{moment}.json").read_text(encoding="utf-8"))
    return found


def demo_calculations() -> list[dict[str, Any]]:
    """Return the questions of the demo that calculations answer, each with calculation, name, summary and body."""
    found: list[dict[str, Any]] = json.loads((demo_folder() / "calculations.json").read_text(encoding="utf-8"))
    return found
