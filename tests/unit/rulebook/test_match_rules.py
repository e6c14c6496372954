"""From the rulebook to match rules and to conjunctions, and the limits of the engine."""

from tacticapi.domain.reasoning import MatchRule
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.rulebook.match_rules import conjunctions, lint, match_rules

from .conftest import BREAK_POINT, LIKELY, LOW_BALLS, RIGHT


def own_kick(value, op=Op.AT_LEAST):
    return Condition(FactKind.OWN, "kick", (Test("number", op, value),))


def observed(field, op, value):
    return Condition(FactKind.OBSERVED, "rally.low_ball", (Test(field, op, value),))


def found(rules):
    return list(lint(rules))


def test_a_sound_rulebook_has_no_findings(make_tactic, make_rulebook):
    chained = Condition(FactKind.CIRCUMSTANCE, "chained")
    tactic = make_tactic("low-slice", (LIKELY, RIGHT, own_kick(2)), unless=[(chained,)])
    tries = Condition(FactKind.TRIES, "low-slice", (Test("tried", Op.AT_LEAST, 6), Test("permille", Op.AT_MOST, 400)))
    other = make_tactic("other", (tries, BREAK_POINT, Condition(FactKind.UNSEEN, "rally.low_ball")))
    rulebook = make_rulebook([tactic, other], {"chained": [(RIGHT,)]})
    assert found(match_rules(rulebook)) == []


def test_a_condition_written_twice_is_refused():
    twice = [MatchRule("tactic/t/0", (RIGHT, RIGHT))]
    assert found(twice) == [("tactic/t/0", "own handedness occurs 2 times", "each condition once")]


def test_over_64_conditions_that_one_fact_could_satisfy_are_refused():
    rules = [MatchRule(f"tactic/t{n}/0", (observed("permille", Op.AT_LEAST, n),)) for n in range(65)]
    assert found(rules[:64]) == []
    told = ("observed rally.low_ball", "65 different conditions", "at most 64")
    assert found(rules) == [told]


def test_over_250_rules_on_one_condition_are_refused_unless_they_are_equal():
    def rules(number):
        chances = [observed("chances", Op.AT_LEAST, n) for n in range(16)]
        pairs = [(BREAK_POINT, a, b) for a in chances for b in chances if a != b]
        return [MatchRule(f"tactic/t{n}/0", conditions) for n, conditions in enumerate([*pairs, *pairs][:number])]

    def crowded(number):
        kicks = ((own_kick(n % 5), own_kick(n // 5, Op.AT_MOST)) for n in range(25))
        more = [MatchRule(f"tactic/u{n}/0", (BREAK_POINT, LIKELY, *two)) for n, two in enumerate(kicks)]
        return [f for f in found([*rules(number), *more]) if f[0] == "circumstance break-point-for"]

    assert crowded(225) == []
    assert crowded(226) == [("circumstance break-point-for", "251 rules with the same condition", "at most 250")]
    assert found(rules(480)) == []


def test_over_500_names_of_one_kind_of_facts_are_refused(make_tactic, make_rulebook):
    rulebook = make_rulebook([make_tactic(f"t{n}", (RIGHT,)) for n in range(501)])
    tries = [Condition(FactKind.TRIES, name, (Test("tried", Op.AT_LEAST, 6),)) for name in rulebook.tactics]
    rules = [MatchRule(f"tactic/{one.name}/0", (one,)) for one in tries]
    assert found(rules[:500]) == []
    assert found(rules) == [("tries", "501 different names", "at most 500")]


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
