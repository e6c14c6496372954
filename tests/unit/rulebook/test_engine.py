"""The engine answers one request at a time, in full or with an error, and as the evaluator does in plain Python."""

import gc
import json
import random
import resource
import threading
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import durable_rules_engine
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tacticapi.domain.reasoning import Fact, MatchRule, RuleMatch
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.domain.situation import Wing
from tacticapi.rulebook import engine as engine_module
from tacticapi.rulebook.engine import Admission, Engine
from tacticapi.rulebook.evaluator import evaluate
from tacticapi.rulebook.load import load
from tacticapi.rulebook.match_rules import (
    MAX_NUMBER,
    EngineError,
    FiringBudgetExceeded,
    Retired,
    Truncated,
    match_rules,
)

from .conftest import LIKELY, believed

AHEAD = Condition(FactKind.SCORE, "games_ahead", (Test("number", Op.AT_LEAST, -1), Test("number", Op.AT_MOST, 2)))
RULES = (MatchRule("tactic/low-slice/0", (LIKELY,)), MatchRule("tactic/steady/0", (AHEAD, LIKELY)))
OTHER_RULES = (MatchRule("tactic/other/0", (LIKELY, AHEAD)),)
SCORE = Fact("score", FactKind.SCORE, "games_ahead", {"number": -1})


def beliefs(number):
    return [believed(f"b{n}") for n in range(number)]


@pytest.fixture(scope="module")
def engine():
    return Engine(RULES, "engine-tests", max_firings=50)


@pytest.fixture
def native(monkeypatch):
    """The engine's functions, any of which a test may replace."""
    names = ("assert_facts", "start_action_for_state", "complete_and_start_action", "delete_state")
    functions = SimpleNamespace(**{name: getattr(durable_rules_engine, name) for name in names})
    monkeypatch.setattr(engine_module, "native", functions)
    return functions


def test_matched_facts_come_in_the_order_of_the_conditions(engine):
    low_slice, steady = sorted(engine.run([*beliefs(1), SCORE]))
    assert low_slice == RuleMatch("tactic/low-slice/0", ("b0",))
    assert steady == RuleMatch("tactic/steady/0", ("score", "b0"))


def test_nothing_of_one_request_is_left_for_the_next(engine):
    engine.run(beliefs(3))
    assert engine.run([]) == ()


@pytest.mark.parametrize(
    ("spoil", "error", "words"),
    [
        (lambda text: text[: len(text) // 2], Truncated, None),
        (lambda text: json.dumps(json.loads(text) * 2), EngineError, "an id was asserted twice"),
    ],
)
def test_a_batch_cut_short_or_sent_twice_is_an_error_and_the_next_request_is_answered(
    engine, native, spoil, error, words
):
    def spoilt(handle, text):
        closing = len(json.loads(text)) == 1
        return durable_rules_engine.assert_facts(handle, text if closing else spoil(text))

    native.assert_facts = spoilt
    with pytest.raises(error, match=words):
        engine.run([*beliefs(4), SCORE])
    native.assert_facts = durable_rules_engine.assert_facts
    assert len(engine.run([*beliefs(4), SCORE])) == 8


def test_more_firings_than_a_request_may_cause_are_refused_before_they_happen(engine, native):
    batches = []

    def watched(handle, text):
        batches.append(len(json.loads(text)))
        return durable_rules_engine.assert_facts(handle, text)

    native.assert_facts = watched
    with pytest.raises(FiringBudgetExceeded):
        engine.run([*beliefs(26), SCORE])
    assert batches == [], "nothing went in"


def test_the_budget_also_ends_a_run_of_single_firings():
    rules = [MatchRule(f"tactic/t{n}/0", (LIKELY, *([AHEAD] if n else []))) for n in range(2)]
    tight = Engine(rules, "engine-tests-budget", max_firings=1)
    with pytest.raises(FiringBudgetExceeded):
        tight.run([*beliefs(1), SCORE])
    assert tight.run(beliefs(1)) == (RuleMatch("tactic/t0/0", ("b0",)),)


def test_an_engine_whose_session_stays_dirty_retires(native):
    spoilt = Engine(RULES, "engine-tests-retired")

    def refuse(handle, session):
        raise RuntimeError("no")

    native.delete_state = refuse
    with pytest.raises(RuntimeError, match="no"):
        spoilt.run([*beliefs(1), SCORE])
    native.delete_state = durable_rules_engine.delete_state
    with pytest.raises(Retired):
        spoilt.run(beliefs(1))


def test_words_that_no_rule_knows_stay_outside(engine):
    wording = {"permille": 800, "note": '"},{"id":"x', "wing": "{" * 5000}
    (found,) = engine.run([Fact("b", FactKind.BELIEF, "weak_low_ball", wording)])
    assert found == RuleMatch("tactic/low-slice/0", ("b",))


@pytest.mark.parametrize("value", [800.0, True, "800", None, float("nan"), 1e-300])
def test_what_is_no_whole_number_satisfies_no_threshold(engine, value):
    assert engine.run([Fact("b", FactKind.BELIEF, "weak_low_ball", {"permille": value})]) == ()


def test_a_number_beyond_bounds_is_an_error_and_the_next_request_is_answered(engine):
    with pytest.raises(ValueError, match="permille"):
        engine.run([Fact("b", FactKind.BELIEF, "weak_low_ball", {"permille": MAX_NUMBER + 1}), SCORE])
    assert len(engine.run(beliefs(2))) == 2


def test_a_second_ruleset_in_the_process_keeps_to_its_own_rules_and_no_thread_is_started(engine):
    before = threading.enumerate()
    other = Engine(OTHER_RULES, "engine-tests-other")
    for _ in range(50):
        assert {match.rule for match in engine.run([*beliefs(2), SCORE])} == {"tactic/low-slice/0", "tactic/steady/0"}
        assert {match.rule for match in other.run([*beliefs(2), SCORE])} == {"tactic/other/0"}
    assert threading.enumerate() == before


def test_requests_from_several_threads_are_answered_one_by_one(engine):
    sizes = [n % 7 for n in range(200)]
    with ThreadPoolExecutor(4) as pool:
        found = pool.map(lambda size: len(engine.run([*beliefs(size), SCORE])), sizes)
        assert list(found) == [2 * size for size in sizes]


def test_a_thousand_requests_leave_the_process_as_large_as_it_was(engine):
    def resident():
        gc.collect()
        return int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize() / 2**20

    for _ in range(100):
        engine.run([*beliefs(20), SCORE])
    before = resident()
    for _ in range(1000):
        engine.run([*beliefs(20), SCORE])
    assert resident() - before < 4, "a single leaked session takes more than a megabyte"


WINGS = [wing.value for wing in Wing]
WORDS = ["right", "left", "yes"]
FIELDS_OF = {
    FactKind.BELIEF: ["permille", "wing"],
    FactKind.OBSERVED: ["permille", "chances", "wing"],
    **{FactKind.OWN: ["value"], FactKind.SCORE: ["number"], FactKind.UNSEEN: [], FactKind.CIRCUMSTANCE: []},
}


def random_test(draw, field):
    if field in ("permille", "chances"):
        return Test(field, draw.choice([Op.AT_LEAST, Op.AT_MOST]), draw.choice([0, 4, 550, 700, 1000]))
    if field == "number":
        return Test(field, draw.choice(list(Op)), draw.randrange(-3, 4))
    return Test(field, Op.IS, draw.choice(WINGS if field == "wing" else WORDS))


def random_condition(draw):
    kind, fields = draw.choice(list(FIELDS_OF.items()))
    tests = tuple(random_test(draw, field) for field in fields if draw.random() < 0.7)
    tied = kind in (FactKind.BELIEF, FactKind.OBSERVED) and draw.random() < 0.3
    return Condition(kind, f"{kind}-{draw.randrange(4)}", tests, tied)


def random_rules(seed):
    """Forty rules of up to four conditions; the first eight derive circumstances, each from lower ones."""
    draw = random.Random(seed)
    rules = []
    for number in range(40):
        conditions = [random_condition(draw) for _ in range(draw.choice([1, 1, 2, 2, 3, 4]))]
        if number >= 4 and draw.random() < 0.4:
            conditions.append(Condition(FactKind.CIRCUMSTANCE, f"derived-{draw.randrange(min(4, number // 2))}"))
        derives = f"derived-{number // 2}" if number < 8 else None
        rules.append(MatchRule(f"tactic/t{number}/0", tuple(conditions), derives))
    return tuple(rules)


@cache
def engine_of(rules):
    return Engine(rules, f"agreement-{hash(rules)}")


def near(draw, test):
    """A value at the edge of what the test asks for."""
    if isinstance(test.value, int):
        return test.value + draw.choice([-1, 0, 0, 1])
    return draw.choice([test.value, test.value, "other"])


def fields_near(draw, condition):
    fields = {test.field: near(draw, test) for test in condition.tests}
    if condition.kind in (FactKind.BELIEF, FactKind.OBSERVED) and "wing" not in fields and draw.random() < 0.7:
        fields["wing"] = draw.choice(WINGS)
    if fields and draw.random() < 0.1:
        fields.pop(draw.choice(sorted(fields)))
    return fields


@st.composite
def situations(draw, rules):
    """Facts near to what a few of the rules ask for, and one that no rule asks for, in any order."""
    chosen = [rules[n] for n in draw(st.lists(st.integers(0, len(rules) - 1), min_size=1, max_size=6))]
    values = draw(st.randoms(use_true_random=True))
    drawn = [(c.kind, c.name, fields_near(values, c)) for rule in chosen for c in rule.conditions]
    drawn.append((FactKind.OWN, "unheard-of", {"value": "right"}))
    values.shuffle(drawn)
    return [Fact(f"{kind}:{name}:{n}", kind, name, fields) for n, (kind, name, fields) in enumerate(drawn)]


def matches(engine, rules, facts):
    """The engine's matches as a matcher sorts them, with those of the rules that never enter it."""
    return tuple(sorted([*engine.run(facts), *(RuleMatch(rule.id, ()) for rule in rules if not rule.conditions)]))


@pytest.mark.parametrize(("seed", "examples"), [*((seed, 300) for seed in range(4)), (None, 300)])
def test_engine_and_evaluator_agree_on_random_rulebooks_and_on_ours(seed, examples):
    rules = match_rules(load()) if seed is None else random_rules(seed)
    engine, found = engine_of(rules), set()

    @settings(max_examples=examples, deadline=None)
    @given(situations([rule for rule in rules if rule.conditions]))
    def agree(facts):
        expected = evaluate(rules, facts)
        assert matches(engine, rules, facts) == expected
        if seed is not None:
            assert matches(engine, rules, facts[::-1]) == expected
        found.update(match.rule for match in expected)

    agree()
    assert len(found) > len(rules) / 2, "too few rules were ever met for this to be a test"


def test_facts_kept_out_of_the_engine_would_have_changed_nothing(monkeypatch):
    class OpenDoor(Admission):
        def satisfied(self, fact):
            return [*super().satisfied(fact), -1]

        def complete(self, met):
            return [*super().complete(met), (-1,)]

        def payload(self, fact):
            return {"kind": fact.kind.value, "name": fact.name, **fact.fields}

    rules = random_rules(8)
    closed = engine_of(rules)
    monkeypatch.setattr(engine_module, "Admission", OpenDoor)
    unguarded = Engine(rules, "agreement-open-door")

    @settings(max_examples=100, deadline=None)
    @given(situations(rules))
    def agree(facts):
        assert sorted(unguarded.run(facts)) == sorted(closed.run(facts))

    agree()
