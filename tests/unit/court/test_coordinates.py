"""The one coordinate system is documented with a picture that the drawing makes."""

import runpy
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

DOCS = Path(__file__).parents[3] / "docs"
DRAWING: dict[str, Any] = runpy.run_path(str(DOCS / "court_picture.py"))


def test_the_picture_of_the_documentation_is_the_one_that_is_drawn() -> None:
    kept = ElementTree.fromstring((DOCS / "court.svg").read_text())
    drawn = ElementTree.fromstring(DRAWING["picture"]())
    assert list(kept.itertext())[1:] == list(drawn.itertext())[1:]  # the first text is the style
    assert "court.svg" in (DOCS / "court.md").read_text()


def test_it_names_the_axes_the_origin_and_both_players() -> None:
    text = " ".join(ElementTree.fromstring(DRAWING["picture"]()).itertext())
    for word in ("x 4.115, y 11.885", "origin", "you: y < 0", "opponent: y > 0"):
        assert word in text
