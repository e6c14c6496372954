"""Ties between tactics, and where what they say comes from."""

import re
import shutil

import pytest

from tacticapi.domain.rules import RelationKind
from tacticapi.rulebook.files import RuleFileError, our_rules
from tacticapi.rulebook.load import load

BACKS_NO_TACTIC = {"WARMUP-NULL"}  # says only that nobody has studied it


def test_every_conflict_says_in_words_how_it_is_settled(rulebook):
    conflicts = [
        (tactic.id, relation)
        for tactic in rulebook.tactics.values()
        for relation in tactic.relations
        if relation.kind is RelationKind.CONFLICTS
    ]
    assert conflicts
    assert [name for name, relation in conflicts if not relation.settled or len(relation.settled.split()) < 3] == []


@pytest.mark.parametrize(
    "relation", ["overrides: trusted-serve-spot-on-biggest-points", "yields-to: keep-serve-mix-unguessable"]
)
def test_rules_that_set_one_another_aside_in_a_circle_are_refused(tmp_path, relation):
    folder = tmp_path / "rules"
    shutil.copytree(our_rules(), folder)
    serve = folder / "tactics" / "serve.yaml"
    before = "relations: [{supports: work-weaker-wing}, {overrides: keep-serve-mix-unguessable}]"
    text = serve.read_text()
    assert before in text
    serve.write_text(text.replace(before, before[:-1] + f", {{{relation}}}]"))
    with pytest.raises(RuleFileError) as caught:
        load([folder])
    (mistake,) = caught.value.mistakes
    assert mistake.expected == "overrides without a cycle"
    assert mistake.found.startswith("a cycle: ")


def test_no_source_is_listed_for_nothing(rulebook):
    cited = {ref.key for tactic in rulebook.tactics.values() for ref in tactic.sources}
    assert rulebook.sources.keys() - cited == BACKS_NO_TACTIC


def test_no_citation_backs_a_threshold_of_ours(rulebook):
    """A count that decides (over 12 exchanges, 8 tries) is a model default and stands in no cited fact."""
    ours = re.compile(r"\b(tries|chances|over \d+|at least \d+|or more of|threshold|trigger)\b", re.IGNORECASE)
    backed = [(tactic.id, ref.backs) for tactic in rulebook.tactics.values() for ref in tactic.sources]
    assert [entry for entry in backed if ours.search(entry[1])] == []
    assert ours.search("attack after 8 tries")
