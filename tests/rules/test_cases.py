"""Every tactic is tried out: where it speaks, where it does not, and where a single fact silences it."""

from collections import defaultdict

import pytest

from ..cases import cases, merge_patch
from .single_fact import changed_facts

CASES = cases()
LISTED = ["observations", "observations"]
NAMES = [f"{case.tactic}-{number}" for number, case in enumerate(CASES)]


@pytest.mark.parametrize("case", CASES, ids=NAMES)
def test_a_tactic_speaks_and_keeps_silent_as_its_case_says(asker, case):
    assert asker.ask(case.suggested).verdict(case.tactic) == "suggested"
    if case.near_miss is not None:
        near = merge_patch(case.suggested, case.near_miss)
        assert len(changed_facts(case.suggested, near)) == 1, "a near miss changes one fact"
        assert asker.ask(near).verdict(case.tactic) == case.near_miss_why
    if case.not_suggested is not None:
        assert asker.ask(case.not_suggested).verdict(case.tactic) != "suggested"


def test_every_tactic_has_all_three_kinds_of_case(rulebook):
    told = defaultdict(set)
    for case in CASES:
        told[case.tactic].add("suggested")
        told[case.tactic] |= {"near miss"} if case.near_miss is not None else set()
        told[case.tactic] |= {"not suggested"} if case.not_suggested is not None else set()
    assert told.keys() <= rulebook.tactics.keys()
    assert {t: told[t] for t in rulebook.tactics if len(told[t]) < 3} == {}


@pytest.mark.parametrize(
    ("after", "places"),
    [
        ({"moment": "set-break", "own": {"volley": 3}, "observations": [{"what": "a"}, {"what": "b"}]}, []),
        ({"moment": "set-break", "own": {"volley": 1}, "observations": [{"what": "a"}, {"what": "b"}]}, ["own/volley"]),
        ({"moment": "set-break", "own": {"volley": 3}, "observations": [{"what": "a"}]}, ["observations"]),
        ({"moment": "set-break", "observations": [{"what": "c"}, {"what": "d"}]}, ["own/volley", *LISTED]),
    ],
)  # fmt: skip
def test_changed_facts_are_counted(after, places):
    before = {"moment": "set-break", "own": {"volley": 3}, "observations": [{"what": "a"}, {"what": "b"}]}
    assert changed_facts(before, after) == places
