"""What DEVELOPERS.md and the guide have an author write works as it stands there."""

import json
import re
import shutil
from pathlib import Path

import pytest
import yaml

from tacticapi.advice import Adviser
from tacticapi.api.situations import read_situation
from tacticapi.cli.rules import findings
from tacticapi.rulebook.conditions import SCORE_NUMBERS, SCORE_WORDS, condition
from tacticapi.rulebook.entries import schema
from tacticapi.rulebook.files import our_rules
from tacticapi.rulebook.load import load

from ..cases import cases
from ..scenarios.test_scenarios import cases as scenarios
from ..scenarios.test_scenarios import faults
from .asking import Asker, hold

ROOT = Path(__file__).parents[2]
FIRST_STEPS, GUIDE = ((ROOT / page).read_text(encoding="utf-8") for page in ("DEVELOPERS.md", "docs/writing-rules.md"))
NEW = "first-ball-behind-a-late-return"


def written(page, language="yaml"):
    return re.findall(rf"```{language}\n(.*?)```", page, re.DOTALL)


@pytest.fixture(scope="module")
def rules(tmp_path_factory):
    """A copy of the rules with all three edits of the page, those that a newcomer has made already taken as made."""
    folder = tmp_path_factory.mktemp("copy") / "rules"
    shutil.copytree(our_rules(), folder)
    names = "tactics/serve.yaml", "tactics/serve.cases.yaml", "observations/return.yaml"
    for name, text in zip(names, written(FIRST_STEPS), strict=True):
        path = folder / name
        path.write_text(path.read_text(encoding="utf-8").replace(text, "") + text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """The guide's three files as a folder of house rules."""
    folder = tmp_path_factory.mktemp("house")
    (folder / "tactics").mkdir()
    names = "tactics/serve.yaml", "tactics/serve.cases.yaml", "house.yaml"
    for name, text in zip(names, written(GUIDE), strict=True):
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def test_the_first_tactic_loads_and_passes_its_case(rules):
    hold(Asker(load([rules])), next(one for one in cases([rules]) if one.tactic == NEW))


def test_the_first_tactic_and_kind_disturb_no_scenario(rules):
    rulebook = load([rules])
    adviser = Adviser(rulebook)
    said = {
        case["name"]: faults(adviser.recommend(read_situation(case["request"], rulebook)), case["expect"])
        for case in (param.values[0] for param in scenarios())
    }
    assert {name: found for name, found in said.items() if found} == {}


def test_the_first_kind_moves_the_trait_on_the_wing_that_was_watched(rules):
    rulebook = load([rules])
    advice = Adviser(rulebook).recommend(read_situation(json.loads(written(FIRST_STEPS, "json")[0]), rulebook))
    found = {b.wing: b for b in advice.beliefs if b.trait == "rushed_by_pace"}
    assert found["backhand"].probability > found["backhand"].prior + 0.1
    assert found["forehand"].probability == found["forehand"].prior
    assert findings(rulebook) == []
    assert any("first serves met late" in r.text for s in advice.suggestions for r in s.because)


def test_the_tactic_of_the_guide_passes_its_cases_and_its_house_file_mutes_and_weighs(house, rulebook):
    with_house = load([our_rules(), house])
    tried, asker = cases([house]), Asker(with_house)
    assert len(tried) == 2
    for case in tried:
        hold(asker, case)
    assert rulebook.tactics.keys() - with_house.tactics.keys() == {"serve-to-hidden-wing"}
    assert with_house.tactics["work-weaker-wing"].price != rulebook.tactics["work-weaker-wing"].price


def test_the_conditions_of_the_guide_are_conditions(rulebook):
    texts = re.findall(r"^\| `(\{.*?\})` \|", GUIDE, re.MULTILINE)
    built = [condition(yaml.safe_load(text), rulebook.defaults["levels"]) for text in texts]
    known = schema("conditions")["$defs"]["condition"]["anyOf"]
    assert {one.kind.value for one in built} == {rule["required"][0] for rule in known}


def test_the_guide_names_every_field_and_every_part_of_the_score():
    tactic = schema("tactics")["$defs"]["tactic"]["properties"].keys() - {"id", "title", "say", "why", "deprecated"}
    assert [name for name in (*tactic, *SCORE_NUMBERS, *SCORE_WORDS) if f"`{name}`" not in GUIDE] == []
