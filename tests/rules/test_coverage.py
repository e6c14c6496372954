"""The cases leave no part of any rule untried."""

from ..cases import cases, merge_patch
from .coverage import Coverage, exercise, parts


def requests_of(case):
    near = [] if case.near_miss is None else [merge_patch(case.suggested, case.near_miss)]
    far = [] if case.not_suggested is None else [case.not_suggested]
    return [case.suggested, *near, *far]


def measured(asker, tried, by_tactic):
    coverage = Coverage()
    for case in tried:
        gates = asker.rulebook.tactics[case.tactic].needs
        for request in requests_of(case):
            answer = asker.ask(request)
            for part in by_tactic[case.tactic]:
                exercise(coverage, part, answer.facts, answer.situation, gates)
    return coverage


def test_every_alternative_condition_gate_and_counter_is_seen_to_hold_and_to_fail(asker, rulebook, entries):
    every = parts(entries, rulebook.defaults["levels"])
    by_tactic = {}
    for part in every:
        by_tactic.setdefault(part.tactic, []).append(part)
    coverage = measured(asker, cases(), by_tactic)
    missing = coverage.missing(every)
    print(f"{len(every)} parts of {len(by_tactic)} tactics: {100 * coverage.share(every):.1f} % seen both ways")
    assert missing == []
    assert coverage.share(every) == 1.0


def test_a_part_without_a_case_is_reported(asker, rulebook, entries):
    own = [p for p in parts(entries, rulebook.defaults["levels"]) if p.tactic == "keep-net-rusher-back"]
    first = next(case for case in cases() if case.tactic == "keep-net-rusher-back")
    coverage = measured(asker, [first], {"keep-net-rusher-back": own})
    assert "keep-net-rusher-back unless/1: never holds" in coverage.missing(own)
    assert coverage.share(own) < 1.0
