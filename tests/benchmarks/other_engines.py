"""The rulebook on two other rule engines, fed the same facts in the same waves as ours, for comparison of speed.

clipspy (CLIPS) tells each rule and the facts it matched, as ours does. zen-engine evaluates expressions over one
object: it tells which rules fired, not on which facts.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from typing import Any

from tacticapi.domain.reasoning import Fact, MatchRule
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.rulebook.match_rules import Conjunction, conjunctions

Fired = tuple[str, tuple[str, ...]]
"""A conjunction and the facts that it matched, in the order of its conditions."""

FIELDS = ("number", "value", "permille", "chances", "option", "part", "wing", "court", "serve", "rating", "amount")
FIELDS += ("seen", "tried", "won")


def in_waves(facts: Sequence[Fact], held: Sequence[Conjunction], fire: Callable[[Sequence[Fact]], Any]) -> Any:
    """Let an engine fire on the facts, then on what they derive, until nothing new is derived; its last answer."""
    derives = {c.name: [rule.derives for rule in c.rules if rule.derives] for c in held}
    known = {fact.name for fact in facts if fact.kind is FactKind.CIRCUMSTANCE}
    wave = list(facts)
    while True:
        fired = fire(wave)
        fresh = {name for rule, *_ in fired for name in derives[rule]} - known
        if not fresh:
            return fired
        known |= fresh
        wave = [Fact(f"d.{name}", FactKind.CIRCUMSTANCE, name) for name in sorted(fresh)]


class Clips:
    """CLIPS: one template a kind of facts, one rule a conjunction."""

    def __init__(self, rules: Sequence[MatchRule]) -> None:
        import clips

        self._held = conjunctions(rules)
        self._fired: list[Fired] = []
        self._environment = clips.Environment()
        self._environment.define_function(self._record, "record")
        slots = " ".join(f"(slot {field} (default nil))" for field in ("id", "name", *FIELDS))
        for kind in FactKind:
            self._environment.build(f"(deftemplate {kind.value} {slots})")
        for conjunction in self._held:
            self._environment.build(_clips_rule(conjunction))
        self._templates = {kind: self._environment.find_template(kind.value) for kind in FactKind}

    def _record(self, rule: str, *facts: str) -> None:
        self._fired.append((str(rule), tuple(map(str, facts))))

    def run(self, facts: Sequence[Fact]) -> list[Fired]:
        """Every conjunction that fires, with its facts."""
        self._environment.reset()
        self._fired.clear()
        return list(in_waves(facts, self._held, self._fire))

    def _fire(self, wave: Sequence[Fact]) -> list[Fired]:
        for fact in wave:
            self._templates[fact.kind].assert_fact(id=fact.id, name=fact.name, **fact.fields)
        self._environment.run()
        return self._fired


def _clips_rule(conjunction: Conjunction) -> str:
    patterns = " ".join(_clips_pattern(c, place) for place, c in enumerate(conjunction.conditions))
    ids = " ".join(f"?f{place}" for place in range(len(conjunction.conditions)))
    return f'(defrule {conjunction.name} {patterns} => (record "{conjunction.name}" {ids}))'


def _clips_pattern(condition: Condition, place: int) -> str:
    by_field: dict[str, list[Test]] = {}
    for test in condition.tests:
        by_field.setdefault(test.field, []).append(test)
    slots = " ".join(_clips_slot(field, f"?v{place}{n}", tests) for n, (field, tests) in enumerate(by_field.items()))
    return f'({condition.kind.value} (id ?f{place}) (name "{condition.name}") {slots})'


def _clips_slot(field: str, name: str, tests: Sequence[Test]) -> str:
    checks = " ".join(
        f"(eq {name} {json.dumps(test.value)})"
        if test.op is Op.IS
        else f"({'>=' if test.op is Op.AT_LEAST else '<='} {name} {test.value})"
        for test in tests
    )
    guard = "" if all(test.op is Op.IS for test in tests) else f"(integerp {name}) "
    return f"({field} {name}&:(and {guard}{checks} TRUE))"


class Zen:
    """zen-engine: one expression a conjunction, over lists of facts by kind and name."""

    def __init__(self, rules: Sequence[MatchRule]) -> None:
        import zen

        self._held = conjunctions(rules)
        subjects = dict.fromkeys((c.kind, c.name) for each in self._held for c in each.conditions)
        self._names = {subject: f"s{number}" for number, subject in enumerate(subjects)}
        self._decision = zen.ZenEngine().create_decision(json.dumps(self._model()))

    def run(self, facts: Sequence[Fact]) -> list[tuple[str]]:
        """Every conjunction that fires."""
        known: dict[str, list[dict[str, Any]]] = {name: [] for name in self._names.values()}

        def fire(wave: Sequence[Fact]) -> list[tuple[str]]:
            for fact in wave:
                if (fact.kind, fact.name) in self._names:
                    known[self._names[fact.kind, fact.name]].append(dict(fact.fields))
            return [(rule,) for rule, fired in self._decision.evaluate(known)["result"].items() if fired]

        return list(in_waves(facts, self._held, fire))

    def _model(self) -> dict[str, Any]:
        expressions = [
            {"id": c.name, "key": c.name, "value": " and ".join(map(self._expression, c.conditions))}
            for c in self._held
        ]
        ends = [{"id": name, "type": f"{name}Node", "name": name, "content": {}} for name in ("input", "output")]
        rules = {"id": "rules", "type": "expressionNode", "name": "rules", "content": {"expressions": expressions}}
        edges = [("input", "rules"), ("rules", "output")]
        return {
            "nodes": [*ends, rules],
            "edges": [{"id": f"{a}-{b}", "sourceId": a, "targetId": b, "type": "edge"} for a, b in edges],
        }

    def _expression(self, condition: Condition) -> str:
        facts = self._names[condition.kind, condition.name]
        tests = " and ".join(map(_zen_test, condition.tests))
        return f"some({facts}, {tests})" if tests else f"len({facts}) > 0"


def _zen_test(test: Test) -> str:
    match test.op:
        case Op.IS:
            return f"#.{test.field} == {json.dumps(test.value)}"
        case Op.AT_LEAST:
            return f"(#.{test.field} ?? {-(2**31)}) >= {test.value}"
        case _:
            return f"(#.{test.field} ?? {2**31}) <= {test.value}"
