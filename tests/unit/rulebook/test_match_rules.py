"""From the rulebook to match rules, and from matches back to the tactics."""

from tacticapi.domain.reasoning import MatchRule
from tacticapi.domain.rules import Op, Test
from tacticapi.rulebook.match_rules import conjunctions, match_rules

from .conftest import LIKELY, LOW_BALLS, RIGHT


def test_a_candidate_asks_no_belief_and_takes_either_wing_if_a_belief_set_it(make_tactic, make_rulebook):
    rules = match_rules(make_rulebook([make_tactic("low-slice", (LIKELY,)), make_tactic("low", (LIKELY, LOW_BALLS))]))
    assert rules[1] == MatchRule("candidate/low-slice/0", ())
    assert [[condition.same_wing for condition in rule.conditions] for rule in rules[2:]] == [[False, True], [False]]


def test_equal_conditions_are_compiled_once_and_the_same_wing_once_a_wing():
    rules = [MatchRule(f"tactic/t{n}/0", (RIGHT, LIKELY)) for n in range(100)]
    (only,) = conjunctions([*rules, MatchRule("tactic/always/0", ())])  # without conditions it never enters the engine
    assert [rule.id for rule in only.rules] == [rule.id for rule in rules]
    by_wing = conjunctions([MatchRule("tactic/low-slice/0", (RIGHT, LIKELY, LOW_BALLS))])
    for conjunction, wing in zip(by_wing, ("forehand", "backhand"), strict=True):
        assert conjunction.conditions[0] == RIGHT
        assert all(Test("wing", Op.IS, wing) in condition.tests for condition in conjunction.conditions[1:])
