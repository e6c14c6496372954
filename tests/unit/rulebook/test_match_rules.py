"""From the rulebook to match rules, and from matches back to the tactics."""

import pytest

from tacticapi.domain.reasoning import Fact, Firing, Firings, Inference, MatchRule, RuleMatch
from tacticapi.domain.rules import FactKind, Op, Test
from tacticapi.rulebook.match_rules import conjunctions, match_rules, read_firings

from .conftest import BREAK_POINT, LIKELY, LOW_BALLS, RIGHT, believed


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


HAND = Fact("h", FactKind.OWN, "handedness", {"value": "right"})
BELIEVED = believed("b")


@pytest.fixture
def read(make_tactic, make_rulebook):
    """The rulebook of two tactics, and what fires by these matches."""

    def reading(*matches):
        book = make_rulebook([make_tactic("low-slice", ()), make_tactic("lob", ())])
        return book, read_firings(Inference(tuple(matches), {"h": HAND, "b": BELIEVED}, "evaluator"), book)

    return reading


def test_alternatives_are_gathered_by_tactic_with_their_facts_in_order(read):
    matches = {"tactic/lob/0": (), "tactic/low-slice/0": ("b", "h"), "tactic/low-slice/12": ("h",)}
    book, told = read(*(RuleMatch(rule, facts) for rule, facts in matches.items()))
    slice_, lob = (book.tactics[name] for name in ("low-slice", "lob"))
    fired = Firing(slice_, 0, (BELIEVED, HAND)), Firing(slice_, 12, (HAND,))
    assert told == Firings({"lob": (Firing(lob, 0, ()),), "low-slice": fired}, {}, told.playable)
    assert told.playable == [("lob", 0), ("low-slice", 0), ("low-slice", 12)]


def test_counter_indications_are_told_once_each_in_their_order(read):
    matches = [RuleMatch(f"unless/lob/{n}", facts) for n, facts in ((10, ("h",)), (2, ("h",)), (2, ("b",)))]
    _, told = read(*matches, RuleMatch("unless/low-slice/0", ()))
    assert told == Firings({}, {"lob": (2, 10), "low-slice": (0,)}, [])


def test_a_candidate_can_be_played_but_is_no_firing(read):
    matches = RuleMatch("candidate/lob/0", ("h",)), RuleMatch("circumstance/low-bounce/0", ("h",))
    assert read(*matches)[1] == Firings({}, {}, [("lob", 0)])
