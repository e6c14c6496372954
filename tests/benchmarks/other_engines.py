"""The rulebook on CLIPS, fed the same facts in the same waves as ours, for comparison of speed.

clipspy tells each rule and the facts that it matched, as ours does.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

from tacticapi.domain.reasoning import Fact, MatchRule
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.rulebook.match_rules import Conjunction, conjunctions

Fired = tuple[str, tuple[str, ...]]
"""A conjunction and the facts that it matched, in the order of its conditions."""

FIELDS = ("number", "value", "permille", "chances", "option", "part", "wing", "court", "serve", "rating", "amount")
FIELDS += ("seen", "tried", "won")


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
        derives = {c.name: [rule.derives for rule in c.rules if rule.derives] for c in self._held}
        known = {fact.name for fact in facts if fact.kind is FactKind.CIRCUMSTANCE}
        wave = list(facts)
        while wave:  # the facts, then what they derive, until nothing new is derived
            for fact in wave:
                self._templates[fact.kind].assert_fact(id=fact.id, name=fact.name, **fact.fields)
            self._environment.run()
            fresh = {name for rule, _ in self._fired for name in derives[rule]} - known
            known |= fresh
            wave = [Fact(f"d.{name}", FactKind.CIRCUMSTANCE, name) for name in sorted(fresh)]
        return list(self._fired)


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
