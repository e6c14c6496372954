from tacticapi.domain.reasoning import MatchRule
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.inference.compile import conjunctions, match_rules, ruleset

LIKELY = Condition(FactKind.BELIEF, "weak_low_ball", (Test("permille", Op.AT_LEAST, 700),))
RIGHT = Condition(FactKind.OWN, "handedness", (Test("value", Op.IS, "right"),))
BREAK_POINT = Condition(FactKind.CIRCUMSTANCE, "break-point-for")
LOW_BALLS = Condition(FactKind.OBSERVED, "rally.low_ball", (Test("permille", Op.AT_MOST, 400),), same_wing=True)


def test_each_alternative_each_counter_and_each_way_to_a_circumstance_is_a_rule(make_tactic, make_rulebook):
    tactic = make_tactic("low-slice", (RIGHT,), (BREAK_POINT, LIKELY), unless=[(BREAK_POINT,)])
    rules = match_rules(make_rulebook([tactic], {"own-right": [(RIGHT,)]}))
    assert rules == (
        MatchRule("tactic/low-slice/0", (RIGHT,)),
        MatchRule("tactic/low-slice/1", (BREAK_POINT, LIKELY)),
        MatchRule("candidate/low-slice/1", (BREAK_POINT,)),
        MatchRule("unless/low-slice/0", (BREAK_POINT,)),
        MatchRule("circumstance/own-right/0", (RIGHT,), "own-right"),
    )


def test_a_tactic_on_beliefs_alone_is_always_a_candidate(make_tactic, make_rulebook):
    rules = match_rules(make_rulebook([make_tactic("low-slice", (LIKELY,))]))
    assert rules[1] == MatchRule("candidate/low-slice/0", ())


def test_a_candidate_whose_belief_set_the_wing_takes_either_wing(make_tactic, make_rulebook):
    rules = match_rules(make_rulebook([make_tactic("low-slice", (LIKELY, LOW_BALLS))]))
    assert [condition.same_wing for condition in rules[0].conditions] == [False, True]
    assert [condition.same_wing for condition in rules[1].conditions] == [False]


def test_equal_conditions_are_compiled_once_for_all_their_rules():
    rules = [MatchRule(f"tactic/t{n}/0", (RIGHT, LIKELY)) for n in range(100)]
    (only,) = conjunctions(rules)
    assert [rule.id for rule in only.rules] == [rule.id for rule in rules]


def test_rules_without_conditions_never_enter_the_engine():
    assert conjunctions([MatchRule("tactic/always/0", ())]) == ()


def test_the_same_wing_is_one_conjunction_a_wing_and_no_join():
    forehand, backhand = conjunctions([MatchRule("tactic/low-slice/0", (RIGHT, LIKELY, LOW_BALLS))])
    for conjunction, wing in ((forehand, "forehand"), (backhand, "backhand")):
        on_wing = Test("wing", Op.IS, wing)
        assert conjunction.conditions[0] == RIGHT
        assert all(on_wing in condition.tests for condition in conjunction.conditions[1:])


def test_the_ruleset_tells_facts_apart_by_kind_then_name_then_value():
    definition = ruleset([MatchRule("tactic/low-slice/0", (RIGHT, LIKELY))])
    assert definition["r0"] == {
        "dist": 0,
        "all": [
            {"c0": {"$and": [{"kind": "own"}, {"name": "handedness"}, {"value": "right"}]}},
            {"c1": {"$and": [{"kind": "belief"}, {"name": "weak_low_ball"}, {"$gte": {"permille": 700}}]}},
        ],
    }
