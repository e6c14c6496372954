"""What the guide tells an author to write works as it stands there."""

import re
from pathlib import Path

import pytest
import yaml

from tacticapi.rulebook.conditions import SCORE_NUMBERS, SCORE_WORDS
from tacticapi.rulebook.entries import schema
from tacticapi.rulebook.expansion import condition
from tacticapi.rulebook.files import our_rules
from tacticapi.rulebook.load import load

from ..cases import cases, merge_patch
from .asking import Asker
from .single_fact import changed_facts

GUIDE = Path(__file__).parents[2] / "docs" / "writing-rules.md"
TACTIC = "serve-wide-when-ahead"


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """The guide's three files as a folder of house rules."""
    tactic, tried, others = re.findall(r"```yaml\n(.*?)```", GUIDE.read_text(), re.DOTALL)
    folder = tmp_path_factory.mktemp("house")
    (folder / "tactics").mkdir()
    (folder / "tactics" / "serve.yaml").write_text(tactic)
    (folder / "tactics" / "serve.cases.yaml").write_text(tried)
    (folder / "house.yaml").write_text(others)
    return folder


def test_the_house_file_of_the_guide_mutes_and_weighs(house, rulebook):
    tactics = load([our_rules(), house]).tactics
    assert rulebook.tactics.keys() - tactics.keys() == {"serve-to-hidden-wing"}
    assert tactics["work-weaker-wing"].price != rulebook.tactics["work-weaker-wing"].price


def test_the_tactic_of_the_guide_loads_and_passes_its_cases(house):
    asker = Asker(load([our_rules(), house]))
    tried = cases([house])
    assert [case.tactic for case in tried] == [TACTIC, TACTIC]
    for case in tried:
        assert asker.ask(case.suggested).verdict(TACTIC) == "suggested"
        near = merge_patch(case.suggested, case.near_miss)
        assert len(changed_facts(case.suggested, near)) == 1
        assert asker.ask(near).verdict(TACTIC) == case.near_miss_why
        if case.not_suggested is not None:
            assert asker.ask(case.not_suggested).verdict(TACTIC) != "suggested"


def test_the_conditions_of_the_guide_are_conditions(rulebook):
    written = re.findall(r"^\| `(\{.*?\})` \|", GUIDE.read_text(), re.MULTILINE)
    built = [condition(yaml.safe_load(text), rulebook.defaults["levels"]) for text in written]
    assert {one.kind.value for one in built} == {
        rule["required"][0] for rule in schema("conditions")["$defs"]["condition"]["anyOf"]
    }


def test_the_guide_names_every_field_and_every_part_of_the_score():
    text = GUIDE.read_text()
    tactic = schema("tactics")["$defs"]["tactic"]["properties"]
    plain = {"id", "title", "say", "why", "deprecated"}
    assert [name for name in (*(tactic.keys() - plain), *SCORE_NUMBERS, *SCORE_WORDS) if f"`{name}`" not in text] == []
