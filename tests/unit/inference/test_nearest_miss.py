"""How near a rule came: which conditions keep it from matching, and by which fact, worked by hand."""

from tacticapi.domain.reasoning import Fact
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.inference.evaluator import nearest_miss

LIKELY = Condition(FactKind.BELIEF, "weak_low_ball", (Test("permille", Op.AT_LEAST, 700),))
FIRM = Condition(FactKind.BELIEF, "weak_low_ball", (*LIKELY.tests, Test("seen", Op.IS, "yes")))
FEW = Condition(FactKind.OBSERVED, "rally.low_ball", (Test("permille", Op.AT_MOST, 400),), same_wing=True)
SLOW = Condition(FactKind.OBSERVED, "rally.slow_ball", (Test("permille", Op.AT_MOST, 400),), same_wing=True)
GRASS = Condition(FactKind.CONTEXT, "surface", (Test("value", Op.IS, "grass"),))


def belief(id, permille, **more):
    return Fact(id, FactKind.BELIEF, "weak_low_ball", {"permille": permille, **more})


def counted(id, name, permille, wing):
    return Fact(id, FactKind.OBSERVED, name, {"permille": permille, "wing": wing})


def test_the_fact_that_fails_fewer_tests_is_nearer_whatever_the_gap():
    one, two = belief("a", 100, seen="yes"), belief("b", 699)
    assert nearest_miss((FIRM,), [two, one]) == [(FIRM, one)]


def test_of_facts_that_fail_as_many_the_one_with_the_smaller_gap_is_nearer():
    near, far = belief("b", 690), belief("a", 600)
    assert nearest_miss((LIKELY,), [far, near]) == [(LIKELY, near)]


def test_of_facts_as_near_the_first_by_id_is_told():
    assert nearest_miss((LIKELY,), [belief("b", 600), belief("a", 600)]) == [(LIKELY, belief("a", 600))]


def test_a_word_that_differs_is_no_gap_in_numbers():
    clay = Fact("s", FactKind.CONTEXT, "surface", {"value": "clay"})
    assert nearest_miss((GRASS,), [clay]) == [(GRASS, clay)]


def test_unmet_conditions_come_in_the_order_of_the_rule():
    assert nearest_miss((GRASS, LIKELY), []) == [(GRASS, None), (LIKELY, None)]


def test_the_wing_on_which_fewer_conditions_are_unmet_is_taken():
    """On the forehand both counts are missing, on the backhand one."""
    facts = [
        belief("f", 800, wing="forehand"),
        belief("b", 800, wing="backhand"),
        counted("low", "rally.low_ball", 300, "backhand"),
        counted("slow", "rally.slow_ball", 900, "backhand"),
    ]
    assert nearest_miss((LIKELY, FEW, SLOW), facts) == [(SLOW, facts[3])]


def test_a_tie_without_a_wing_to_follow_is_what_is_missing():
    low = counted("low", "rally.low_ball", 300, "backhand")
    assert nearest_miss((GRASS, FEW), [Fact("s", FactKind.CONTEXT, "surface", {"value": "grass"}), low]) == [(FEW, low)]
    free = belief("free", 800)
    assert nearest_miss((LIKELY, FEW), [free, low]) == [(LIKELY, free)]
