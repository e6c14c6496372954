"""The architecture page: its picture is that of the import contract, and its example is what the service answers."""

import re
import runpy
from pathlib import Path
from typing import Any

from tacticapi.api import create_app

DOCS = Path(__file__).parents[2] / "docs"
PACKAGE = Path(__file__).parents[2] / "tacticapi"
DRAWING: dict[str, Any] = runpy.run_path(str(DOCS / "architecture_picture.py"))


def test_the_picture_is_the_one_that_the_import_contract_gives():
    assert (DOCS / "architecture.svg").read_text(encoding="utf-8") == DRAWING["picture"]()


def test_every_folder_stands_in_the_picture_once():
    drawn = [folder for layer in DRAWING["layers"]() for folder in layer]
    folders = {found.parent.name for found in PACKAGE.glob("*/__init__.py")}
    assert sorted(drawn) == sorted(folders | {"posted", "settings"})


def test_the_observation_that_is_followed_moves_the_belief_and_gives_the_reason_told():
    page = (DOCS / "architecture.md").read_text(encoding="utf-8")
    seen = {"what": "rally.against_high_ball", "wing": "backhand", "count": 2, "of": 6}
    body = {"moment": "change-of-ends", "own": {"topspin_height": 3}, "observations": [seen]}
    answer = create_app({}).test_client().post("/v1/suggestions?include=beliefs", json=body).get_json()
    belief = next(b for b in answer["beliefs"] if b["trait"] == "weak_high_backhand")
    told = re.search(r"its chance was (\S+); these six balls move it to (\d\.\d\d)", page)
    assert told
    assert told.groups() == (f"{belief['prior']:.2f}", f"{belief['probability']:.2f}")
    assert f"{round(1000 * belief['probability'])} permille" in page
    suggestion = next(s for s in answer["suggestions"] if s["tactic"] == "high-ball-to-high-ball-weakness")
    assert f'"{suggestion["because"][0].get("text")}"' in page.replace("\n   ", " ")
