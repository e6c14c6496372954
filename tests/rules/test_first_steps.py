"""What DEVELOPERS.md has a newcomer write works as it stands there, in a copy of the rules."""

import json
import re
import shutil
from pathlib import Path

import pytest

from tacticapi.advice import Adviser
from tacticapi.api.situations import read_situation
from tacticapi.cli.rules import findings
from tacticapi.rulebook.files import our_rules
from tacticapi.rulebook.load import load

from ..cases import cases, merge_patch
from .asking import Asker
from .single_fact import changed_facts

PAGE = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
TACTIC = "first-ball-behind-a-late-return"


@pytest.fixture(scope="module")
def rules(tmp_path_factory):
    """A copy of the rules with all three edits of the page, those that a newcomer has made already taken as made."""
    folder = tmp_path_factory.mktemp("copy") / "rules"
    shutil.copytree(our_rules(), folder)
    tactic, case, kind = re.findall(r"```yaml\n(.*?)```", PAGE, re.DOTALL)
    for name, text in (
        ("tactics/serve.yaml", tactic),
        ("tactics/serve.cases.yaml", case),
        ("observations/return.yaml", kind),
    ):
        path = folder / name
        path.write_text(path.read_text(encoding="utf-8").replace(text, "") + text, encoding="utf-8")
    return folder


def test_the_tactic_of_the_page_loads_and_passes_its_case(rules):
    case = next(one for one in cases([rules]) if one.tactic == TACTIC)
    asker = Asker(load([rules]))
    assert asker.ask(case.suggested).verdict(TACTIC) == "suggested"
    near = merge_patch(case.suggested, case.near_miss)
    assert len(changed_facts(case.suggested, near)) == 1
    assert asker.ask(near).verdict(TACTIC) == case.near_miss_why
    assert asker.ask(case.not_suggested or {}).verdict(TACTIC) != "suggested"


def test_the_kind_of_the_page_moves_the_trait_on_the_wing_that_was_watched(rules):
    rulebook = load([rules])
    request = json.loads(re.findall(r"```json\n(.*?)```", PAGE, re.DOTALL)[0])
    advice = Adviser(rulebook).recommend(read_situation(request, rulebook))
    found = {b.wing: b for b in advice.beliefs if b.trait == "rushed_by_pace"}
    assert found["backhand"].probability > found["backhand"].prior + 0.1
    assert found["forehand"].probability == found["forehand"].prior
    assert findings(rulebook) == []
    assert any("first serves met late" in r.text for s in advice.suggestions for r in s.because)
