"""Every tactic is tried out: where it speaks, where it does not, and where a single fact silences it."""

from collections import defaultdict

import pytest

from ..cases import cases
from .asking import hold

CASES = cases()


@pytest.mark.parametrize("case", CASES, ids=[f"{case.tactic}-{number}" for number, case in enumerate(CASES)])
def test_a_tactic_speaks_and_keeps_silent_as_its_case_says(asker, case):
    hold(asker, case)


def test_every_tactic_has_all_three_kinds_of_case(rulebook):
    told = defaultdict(set)
    for case in CASES:
        told[case.tactic] |= {"suggested"}
        told[case.tactic] |= {"near miss"} if case.near_miss is not None else set()
        told[case.tactic] |= {"not suggested"} if case.not_suggested is not None else set()
    assert told.keys() <= rulebook.tactics.keys()
    missing = [f"{name} to {rulebook.tactics[name].category}" for name in rulebook.tactics if len(told[name]) < 3]
    assert not missing, f"add a case with all three requests: {'.cases.yaml, '.join(missing)}.cases.yaml"
