import pytest

from tacticapi.domain.reasoning import Fact, Match, MatchRule
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.inference import evaluator
from tacticapi.inference.evaluator import evaluate, nearest_miss
from tacticapi.inference.failures import TooManyMatches

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
    assert evaluate([MatchRule("r", ())], []) == (Match("r", ()),)


def test_a_rule_matches_once_for_each_choice_of_facts_in_the_order_of_its_conditions():
    facts = [belief(800, "forehand"), belief(900, "backhand"), Fact("c", FactKind.CIRCUMSTANCE, "low-bounce")]
    matches = evaluate([MatchRule("r", (LOW_BOUNCE, LIKELY))], facts)
    assert matches == (Match("r", ("c", "belief:backhand")), Match("r", ("c", "belief:forehand")))


def test_the_same_wing_binds_an_observation_to_the_belief():
    facts = [belief(800, "backhand"), handled(300, "forehand"), handled(350, "backhand")]
    assert evaluate([MatchRule("r", (LIKELY, LOW_BALLS))], facts) == (
        Match("r", ("belief:backhand", "handled:backhand")),
    )


def test_derived_circumstances_chain_and_keep_their_names():
    rules = [
        MatchRule("circumstance/slow-court/0", (LOW_BOUNCE,), "slow-court"),
        MatchRule("circumstance/low-bounce/0", (GRASS,), "low-bounce"),
        MatchRule("tactic/t/0", (SLOW,)),
    ]
    facts = [Fact("f", FactKind.CONTEXT, "surface", {"value": "grass"})]
    assert evaluate(rules, facts) == (
        Match("circumstance/low-bounce/0", ("f",)),
        Match("circumstance/slow-court/0", ("d.low-bounce",)),
        Match("tactic/t/0", ("d.slow-court",)),
    )


def test_a_circumstance_that_is_a_fact_already_is_not_derived_again():
    rules = [MatchRule("circumstance/low-bounce/0", (GRASS,), "low-bounce"), MatchRule("tactic/t/0", (LOW_BOUNCE,))]
    facts = [Fact("f", FactKind.CONTEXT, "surface", {"value": "grass"}), Fact("c", FactKind.CIRCUMSTANCE, "low-bounce")]
    assert evaluate(rules, facts)[1] == Match("tactic/t/0", ("c",))


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
