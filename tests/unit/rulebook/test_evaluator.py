"""The meaning of rules in plain Python, and how near a rule came."""

import pytest

from tacticapi.domain.reasoning import Fact, MatchRule, RuleMatch
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.rulebook.evaluator import evaluate, nearest_miss

from .conftest import LIKELY, LOW_BALLS, LOW_BOUNCE, believed

GRASS = Condition(FactKind.CONTEXT, "surface", (Test("value", Op.IS, "grass"),))


def handled(permille, wing, name="rally.low_ball"):
    return Fact(f"{name}:{wing}", FactKind.OBSERVED, name, {"permille": permille, "wing": wing})


FOREHAND, BACKHAND = (believed(wing, 800, wing=wing) for wing in ("forehand", "backhand"))
ON_GRASS = Fact("f", FactKind.CONTEXT, "surface", {"value": "grass"})
LOW = Fact("c", FactKind.CIRCUMSTANCE, "low-bounce")


@pytest.mark.parametrize(("permille", "holds"), [(699, False), (700, True), (701, True)])
def test_a_threshold_is_met_from_its_own_value_on(permille, holds):
    fact = believed("b", permille)
    assert bool(evaluate([MatchRule("r", (LIKELY,))], [fact])) is holds
    assert nearest_miss((LIKELY,), [fact]) == ([] if holds else [(LIKELY, fact)])


def test_a_rule_matches_once_for_each_choice_of_facts_in_the_order_of_its_conditions():
    matches = evaluate([MatchRule("r", (LOW_BOUNCE, LIKELY))], [FOREHAND, BACKHAND, LOW])
    assert matches == (RuleMatch("r", ("c", "backhand")), RuleMatch("r", ("c", "forehand")))


NEAR, FAR, SEEN = believed("b", 690), believed("a", 600), believed("s", 100, seen="yes")
FIRM = Condition(FactKind.BELIEF, "weak_low_ball", (*LIKELY.tests, Test("seen", Op.IS, "yes")))
CLAY = Fact("s", FactKind.CONTEXT, "surface", {"value": "clay"})
FREE_BALL, HIT_LOW = believed("free", 800), handled(300, "backhand")


@pytest.mark.parametrize(
    ("conditions", "facts", "missing"),
    [
        ((LOW_BOUNCE, LIKELY), [FAR, NEAR, LOW], [(LIKELY, NEAR)]),  # the smaller gap is nearer
        ((FIRM,), [believed("b", 699), SEEN], [(FIRM, SEEN)]),  # who fails fewer tests is nearer whatever the gap
        ((LIKELY,), [believed("b", 600), FAR], [(LIKELY, FAR)]),  # of facts as near the first by id
        ((GRASS,), [CLAY], [(GRASS, CLAY)]),  # a word that differs is no gap in numbers
        ((GRASS, LIKELY), [], [(GRASS, None), (LIKELY, None)]),  # in the order of the rule, and nothing is known
        ((LIKELY, LOW_BALLS), [BACKHAND, handled(300, "forehand")], [(LOW_BALLS, handled(300, "forehand"))]),
        ((GRASS, LOW_BALLS), [ON_GRASS, HIT_LOW], [(LOW_BALLS, HIT_LOW)]),  # a tie without a wing to follow
        ((LIKELY, LOW_BALLS), [FREE_BALL, HIT_LOW], [(LIKELY, FREE_BALL)]),
    ],
)
def test_the_nearest_fact_stands_beside_each_condition_that_is_not_met(conditions, facts, missing):
    assert nearest_miss(conditions, facts) == missing


SLOW_BALLS = Condition(FactKind.OBSERVED, "rally.slow_ball", (Test("permille", Op.AT_MOST, 400),), same_wing=True)


def test_the_wing_on_which_fewer_conditions_are_unmet_is_taken():
    """On the forehand both counts are missing, on the backhand one."""
    slow = handled(900, "backhand", "rally.slow_ball")
    facts = [FOREHAND, BACKHAND, handled(300, "backhand"), slow]
    assert nearest_miss((LIKELY, LOW_BALLS, SLOW_BALLS), facts) == [(SLOW_BALLS, slow)]
