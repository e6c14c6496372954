import logging

import pytest

from tacticapi.domain.reasoning import Fact, RuleMatch
from tacticapi.domain.rules import Condition, FactKind
from tacticapi.rulebook import evaluator, matcher
from tacticapi.rulebook.evaluator import TooManyMatches
from tacticapi.rulebook.matcher import Matcher

from .conftest import LIKELY, LOW_BOUNCE, RIGHT

KEEP_LOW = Condition(FactKind.CIRCUMSTANCE, "keep-low")
ALWAYS_ON = Condition(FactKind.CIRCUMSTANCE, "always-on")
FACTS = (
    Fact("b", FactKind.BELIEF, "weak_low_ball", {"permille": 800, "wing": "backhand"}, (2, 4)),
    Fact("h", FactKind.OWN, "handedness", {"value": "right"}, (7,)),
)


@pytest.fixture
def rulebook(make_tactic, make_rulebook):
    asked = {"steady": (), "low-slice": (KEEP_LOW, LIKELY), "warm": (ALWAYS_ON,)}
    tactics = [make_tactic(name, conditions) for name, conditions in asked.items()]
    circumstances = {"keep-low": [(LOW_BOUNCE, RIGHT)], "low-bounce": [(RIGHT,), (LIKELY,)], "always-on": [()]}
    return make_rulebook(tactics, circumstances)


@pytest.mark.parametrize("engine", ["durable-rules", "evaluator"])
def test_matches_are_sorted_and_complete_by_either_engine(rulebook, engine):
    matcher = Matcher(rulebook, engine)
    inference = matcher.match(FACTS)
    assert (inference.engine, matcher.engine_name, matcher.healthy) == (engine, engine, True)
    assert inference.matches == (
        RuleMatch("candidate/low-slice/0", ("d.keep-low",)),
        RuleMatch("circumstance/always-on/0", ()),
        RuleMatch("circumstance/keep-low/0", ("d.low-bounce", "h")),
        RuleMatch("circumstance/low-bounce/0", ("h",)),
        RuleMatch("circumstance/low-bounce/1", ("b",)),
        RuleMatch("tactic/low-slice/0", ("d.keep-low", "b")),
        RuleMatch("tactic/steady/0", ()),
        RuleMatch("tactic/warm/0", ("d.always-on",)),
    )
    assert inference.facts == Matcher(rulebook).match(FACTS).facts


def test_a_derived_fact_rests_on_the_observations_of_all_that_proves_it(rulebook):
    facts = Matcher(rulebook).match(FACTS).facts
    assert facts["d.low-bounce"] == Fact("d.low-bounce", FactKind.CIRCUMSTANCE, "low-bounce", {}, (2, 4, 7))
    assert facts["d.keep-low"].observations == (2, 4, 7)
    assert facts["b"] is FACTS[0]


def test_matchers_of_equal_rules_share_one_engine(rulebook):
    assert Matcher(rulebook)._engine is Matcher(rulebook)._engine


def test_where_the_engine_does_not_load_the_evaluator_serves_from_the_start(rulebook, monkeypatch, caplog):
    def unusable(rules):
        raise ImportError("no C extension here")

    monkeypatch.setattr(matcher, "_compiled", unusable)
    with caplog.at_level(logging.WARNING):
        without = Matcher(rulebook)
    assert "no C extension here" in caplog.text
    assert (without.engine_name, without.healthy) == ("evaluator", False)
    assert without.match(FACTS).engine == "evaluator"


def test_a_request_that_fits_in_too_many_ways_is_refused_on_any_engine(make_tactic, make_rulebook, monkeypatch):
    monkeypatch.setattr(evaluator, "MAX_CHOICES", 20_000)
    pairs = Matcher(make_rulebook([make_tactic("pairs", (LIKELY, LIKELY))]))
    many = [Fact(f"b{n}", FactKind.BELIEF, "weak_low_ball", {"permille": 800}) for n in range(150)]
    with pytest.raises(TooManyMatches):
        pairs.match(many)
    assert len(pairs.match(many[:3]).matches) == 1 + 9
