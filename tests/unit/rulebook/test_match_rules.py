"""From the rulebook to match rules, and from matches back to the tactics."""

from tacticapi.domain.reasoning import Fact, Firing, Firings, Inference, MatchRule, RuleMatch
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.rulebook.match_rules import conjunctions, match_rules, read_firings

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


HAND = Fact("h", FactKind.OWN, "handedness", {"value": "right"})
BELIEVED = Fact("b", FactKind.BELIEF, "weak_low_ball", {"permille": 800})


def read(make_tactic, make_rulebook, *matches):
    tactics = [make_tactic("low-slice", ()), make_tactic("lob", ())]
    book = make_rulebook(tactics)
    return book, read_firings(Inference(tuple(matches), {"h": HAND, "b": BELIEVED}, "evaluator"), book)


def test_alternatives_are_gathered_by_tactic_with_their_facts_in_order(make_tactic, make_rulebook):
    book, told = read(
        make_tactic,
        make_rulebook,
        RuleMatch("tactic/lob/0", ()),
        RuleMatch("tactic/low-slice/0", ("b", "h")),
        RuleMatch("tactic/low-slice/12", ("h",)),
    )
    slice_, lob = (book.tactics[name] for name in ("low-slice", "lob"))
    assert told == Firings(
        {
            "lob": (Firing(lob, 0, ()),),
            "low-slice": (Firing(slice_, 0, (BELIEVED, HAND)), Firing(slice_, 12, (HAND,))),
        },
        {},
        (("lob", 0), ("low-slice", 0), ("low-slice", 12)),
    )


def test_counter_indications_are_told_once_each_in_their_order(make_tactic, make_rulebook):
    matches = [RuleMatch(f"unless/lob/{n}", facts) for n, facts in ((10, ("h",)), (2, ("h",)), (2, ("b",)))]
    _, told = read(make_tactic, make_rulebook, *matches, RuleMatch("unless/low-slice/0", ()))
    assert told == Firings({}, {"lob": (2, 10), "low-slice": (0,)})


def test_a_candidate_can_be_played_but_is_no_firing(make_tactic, make_rulebook):
    matches = RuleMatch("candidate/lob/0", ("h",)), RuleMatch("circumstance/low-bounce/0", ("h",))
    assert read(make_tactic, make_rulebook, *matches)[1] == Firings({}, {}, (("lob", 0),))
