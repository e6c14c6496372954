"""The rule engine and the independent evaluator find the same rules on the same facts, in thousands of situations.

Values lie just below, on and just above each threshold, and facts come in any order.
"""

import random
from collections.abc import Sequence
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tacticapi.domain.reasoning import Fact, Match, MatchRule
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.domain.situation import Wing
from tacticapi.inference import engine as engine_module
from tacticapi.inference.admission import Admission
from tacticapi.inference.compile import match_rules
from tacticapi.inference.engine import Engine
from tacticapi.inference.evaluator import evaluate
from tacticapi.knowledge import load

RANDOM_RULEBOOKS = 8
SITUATIONS_OF_EACH = 300
SITUATIONS_OF_OURS = 500
WINGS = [wing.value for wing in Wing]
WORDS = ["right", "left", "yes"]


def random_test(draw: random.Random, field: str) -> Test:
    if field in ("permille", "chances"):
        return Test(field, draw.choice([Op.AT_LEAST, Op.AT_MOST]), draw.choice([0, 4, 550, 700, 1000]))
    if field == "number":
        return Test(field, draw.choice(list(Op)), draw.randrange(-3, 4))
    return Test(field, Op.IS, draw.choice(WINGS if field == "wing" else WORDS))


def random_condition(draw: random.Random) -> Condition:
    kind, fields = draw.choice(
        [
            (FactKind.BELIEF, ["permille", "wing"]),
            (FactKind.OBSERVED, ["permille", "chances", "wing"]),
            (FactKind.OWN, ["value"]),
            (FactKind.SCORE, ["number"]),
            (FactKind.UNSEEN, []),
            (FactKind.CIRCUMSTANCE, []),
        ]
    )
    tests = tuple(random_test(draw, field) for field in fields if draw.random() < 0.7)
    tied = kind in (FactKind.BELIEF, FactKind.OBSERVED) and draw.random() < 0.3
    return Condition(kind, f"{kind}-{draw.randrange(4)}", tests, tied)


def random_rules(seed: int) -> tuple[MatchRule, ...]:
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
def engine_of(rules: tuple[MatchRule, ...]) -> Engine:
    return Engine(rules, f"agreement-{hash(rules)}")


def near(draw: random.Random, test: Test) -> int | str:
    """A value at the edge of what the test asks for."""
    if isinstance(test.value, int):
        return test.value + draw.choice([-1, 0, 0, 1])
    return draw.choice([test.value, test.value, "other"])


def fields_near(draw: random.Random, condition: Condition) -> dict[str, int | str]:
    fields = {test.field: near(draw, test) for test in condition.tests}
    if condition.kind in (FactKind.BELIEF, FactKind.OBSERVED) and "wing" not in fields and draw.random() < 0.7:
        fields["wing"] = draw.choice(WINGS)
    if fields and draw.random() < 0.1:
        fields.pop(draw.choice(sorted(fields)))
    return fields


@st.composite
def situations(draw: st.DrawFn, rules: Sequence[MatchRule]) -> list[Fact]:
    """Facts near to what a few of the rules ask for, and one that no rule asks for, in any order."""
    chosen = [rules[n] for n in draw(st.lists(st.integers(0, len(rules) - 1), min_size=1, max_size=6))]
    values = draw(st.randoms(use_true_random=True))
    drawn = [(c.kind, c.name, fields_near(values, c)) for rule in chosen for c in rule.conditions]
    drawn.append((FactKind.OWN, "unheard-of", {"value": "right"}))
    values.shuffle(drawn)
    return [Fact(f"{kind}:{name}:{n}", kind, name, fields) for n, (kind, name, fields) in enumerate(drawn)]


def matches(engine: Engine, rules: Sequence[MatchRule], facts: Sequence[Fact]) -> tuple[Match, ...]:
    """The engine's matches as a matcher sorts them, with those of the rules that never enter it."""
    return tuple(sorted([*engine.run(facts), *(Match(rule.id, ()) for rule in rules if not rule.conditions)]))


@pytest.mark.parametrize("seed", range(RANDOM_RULEBOOKS))
def test_on_random_rulebooks(seed):
    rules = random_rules(seed)
    engine = engine_of(rules)
    found = set()

    @settings(max_examples=SITUATIONS_OF_EACH, deadline=None)
    @given(situations(rules))
    def agree(facts):
        expected = evaluate(rules, facts)
        assert matches(engine, rules, facts) == expected
        assert matches(engine, rules, facts[::-1]) == expected
        found.update(match.rule for match in expected)

    agree()
    assert len(found) > len(rules) / 2, "too few rules were ever met for this to be a test"


def test_on_our_rulebook():
    rules = match_rules(load())
    asking = [rule for rule in rules if rule.conditions]
    engine = engine_of(rules)
    found = set()

    @settings(max_examples=SITUATIONS_OF_OURS, deadline=None)
    @given(situations(asking))
    def agree(facts):
        expected = evaluate(rules, facts)
        assert matches(engine, rules, facts) == expected
        found.update(match.rule for match in expected)

    agree()
    assert len(found) > len(rules) / 2, "too few of our rules were ever met for this to be a test"


def test_facts_kept_out_of_the_engine_would_have_changed_nothing(monkeypatch):
    class OpenDoor(Admission):
        def satisfied(self, fact):
            return super().satisfied(fact) or (-1,)

        def payload(self, fact):
            return {"kind": fact.kind.value, "name": fact.name, **fact.fields}

    rules = random_rules(RANDOM_RULEBOOKS)
    closed = engine_of(rules)
    monkeypatch.setattr(engine_module, "Admission", OpenDoor)
    unguarded = Engine(rules, "agreement-open-door")

    @settings(max_examples=100, deadline=None)
    @given(situations(rules))
    def agree(facts):
        assert sorted(unguarded.run(facts)) == sorted(closed.run(facts))

    agree()
