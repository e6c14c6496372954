"""The meaning of rules in plain Python, and how near a rule came."""

import pytest

from tacticapi.domain.reasoning import Fact, MatchRule, RuleMatch
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.rulebook import evaluator
from tacticapi.rulebook.evaluator import TooManyMatches, evaluate, nearest_miss

LIKELY = Condition(FactKind.BELIEF, "weak_low_ball", (Test("permille", Op.AT_LEAST, 700),))
LOW_BALLS = Condition(FactKind.OBSERVED, "rally.low_ball", (Test("permille", Op.AT_MOST, 400),), same_wing=True)
LOW_BOUNCE = Condition(FactKind.CIRCUMSTANCE, "low-bounce")
SLOW = Condition(FactKind.CIRCUMSTANCE, "slow-court")
GRASS = Condition(FactKind.CONTEXT, "surface", (Test("value", Op.IS, "grass"),))


def belief(permille, wing):
    return Fact(f"belief:{wing}", FactKind.BELIEF, "weak_low_ball", {"permille": permille, "wing": wing})


def handled(permille, wing):
    return Fact(f"handled:{wing}", FactKind.OBSERVED, "rally.low_ball", {"permille": permille, "wing": wing})


@pytest.mark.parametrize(("permille", "holds"), [(699, False), (700, True), (701, True)])
def test_a_threshold_is_met_from_its_own_value_on(permille, holds):
    assert bool(evaluate([MatchRule("r", (LIKELY,))], [belief(permille, "forehand")])) is holds


def test_an_absent_field_satisfies_no_test():
    fact = Fact("f", FactKind.CONTEXT, "surface", {"number": 1})
    assert evaluate([MatchRule("r", (GRASS,))], [fact]) == ()


def test_a_rule_without_conditions_always_matches():
    assert evaluate([MatchRule("r", ())], []) == (RuleMatch("r", ()),)


def test_a_rule_matches_once_for_each_choice_of_facts_in_the_order_of_its_conditions():
    facts = [belief(800, "forehand"), belief(900, "backhand"), Fact("c", FactKind.CIRCUMSTANCE, "low-bounce")]
    matches = evaluate([MatchRule("r", (LOW_BOUNCE, LIKELY))], facts)
    assert matches == (RuleMatch("r", ("c", "belief:backhand")), RuleMatch("r", ("c", "belief:forehand")))


def test_the_same_wing_binds_an_observation_to_the_belief():
    facts = [belief(800, "backhand"), handled(300, "forehand"), handled(350, "backhand")]
    assert evaluate([MatchRule("r", (LIKELY, LOW_BALLS))], facts) == (
        RuleMatch("r", ("belief:backhand", "handled:backhand")),
    )


def test_derived_circumstances_chain_and_keep_their_names():
    rules = [
        MatchRule("circumstance/slow-court/0", (LOW_BOUNCE,), "slow-court"),
        MatchRule("circumstance/low-bounce/0", (GRASS,), "low-bounce"),
        MatchRule("tactic/t/0", (SLOW,)),
    ]
    facts = [Fact("f", FactKind.CONTEXT, "surface", {"value": "grass"})]
    assert evaluate(rules, facts) == (
        RuleMatch("circumstance/low-bounce/0", ("f",)),
        RuleMatch("circumstance/slow-court/0", ("d.low-bounce",)),
        RuleMatch("tactic/t/0", ("d.slow-court",)),
    )


def test_a_circumstance_that_is_a_fact_already_is_not_derived_again():
    rules = [MatchRule("circumstance/low-bounce/0", (GRASS,), "low-bounce"), MatchRule("tactic/t/0", (LOW_BOUNCE,))]
    facts = [Fact("f", FactKind.CONTEXT, "surface", {"value": "grass"}), Fact("c", FactKind.CIRCUMSTANCE, "low-bounce")]
    assert evaluate(rules, facts)[1] == RuleMatch("tactic/t/0", ("c",))


def test_facts_that_fit_in_too_many_ways_are_refused(monkeypatch):
    monkeypatch.setattr(evaluator, "MAX_CHOICES", 3)
    with pytest.raises(TooManyMatches):
        evaluate([MatchRule("r", (LIKELY, LIKELY))], [belief(800, "forehand"), belief(900, "backhand")])


def test_nothing_is_missing_from_a_rule_that_matches():
    assert nearest_miss((LIKELY,), [belief(700, "forehand")]) == []


def test_the_nearest_fact_stands_beside_the_unmet_condition():
    facts = [belief(300, "forehand"), belief(690, "backhand"), Fact("c", FactKind.CIRCUMSTANCE, "low-bounce")]
    assert nearest_miss((LOW_BOUNCE, LIKELY), facts) == [(LIKELY, facts[1])]


def test_a_condition_of_which_nothing_is_known_has_no_fact_beside_it():
    assert nearest_miss((LIKELY, GRASS), [belief(700, "forehand")]) == [(GRASS, None)]


def test_a_tied_condition_met_on_the_wrong_wing_only_is_what_is_missing():
    facts = [belief(800, "backhand"), handled(300, "forehand")]
    assert nearest_miss((LIKELY, LOW_BALLS), facts) == [(LOW_BALLS, facts[1])]


FIRM = Condition(FactKind.BELIEF, "weak_low_ball", (*LIKELY.tests, Test("seen", Op.IS, "yes")))
FEW = Condition(FactKind.OBSERVED, "rally.low_ball", (Test("permille", Op.AT_MOST, 400),), same_wing=True)
SLOW_BALLS = Condition(FactKind.OBSERVED, "rally.slow_ball", (Test("permille", Op.AT_MOST, 400),), same_wing=True)


def believed(id, permille, **more):
    return Fact(id, FactKind.BELIEF, "weak_low_ball", {"permille": permille, **more})


def counted(id, name, permille, wing):
    return Fact(id, FactKind.OBSERVED, name, {"permille": permille, "wing": wing})


def test_the_fact_that_fails_fewer_tests_is_nearer_whatever_the_gap():
    one, two = believed("a", 100, seen="yes"), believed("b", 699)
    assert nearest_miss((FIRM,), [two, one]) == [(FIRM, one)]


def test_of_facts_that_fail_as_many_the_one_with_the_smaller_gap_is_nearer():
    near, far = believed("b", 690), believed("a", 600)
    assert nearest_miss((LIKELY,), [far, near]) == [(LIKELY, near)]


def test_of_facts_as_near_the_first_by_id_is_told():
    assert nearest_miss((LIKELY,), [believed("b", 600), believed("a", 600)]) == [(LIKELY, believed("a", 600))]


def test_a_word_that_differs_is_no_gap_in_numbers():
    clay = Fact("s", FactKind.CONTEXT, "surface", {"value": "clay"})
    assert nearest_miss((GRASS,), [clay]) == [(GRASS, clay)]


def test_unmet_conditions_come_in_the_order_of_the_rule():
    assert nearest_miss((GRASS, LIKELY), []) == [(GRASS, None), (LIKELY, None)]


def test_the_wing_on_which_fewer_conditions_are_unmet_is_taken():
    """On the forehand both counts are missing, on the backhand one."""
    facts = [
        believed("f", 800, wing="forehand"),
        believed("b", 800, wing="backhand"),
        counted("low", "rally.low_ball", 300, "backhand"),
        counted("slow", "rally.slow_ball", 900, "backhand"),
    ]
    assert nearest_miss((LIKELY, FEW, SLOW_BALLS), facts) == [(SLOW_BALLS, facts[3])]


def test_a_tie_without_a_wing_to_follow_is_what_is_missing():
    low = counted("low", "rally.low_ball", 300, "backhand")
    assert nearest_miss((GRASS, FEW), [Fact("s", FactKind.CONTEXT, "surface", {"value": "grass"}), low]) == [(FEW, low)]
    free = believed("free", 800)
    assert nearest_miss((LIKELY, FEW), [free, low]) == [(LIKELY, free)]
