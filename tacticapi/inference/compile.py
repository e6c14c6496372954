"""From the rulebook to match rules, and from match rules to the engine's own ruleset.

The ruleset holds positive conjunctions only: equality, at least, at most. A condition tells facts apart first
by kind, then by name, so that no node of the engine's network has many children. A condition of the same wing
becomes one conjunction a wing, since a join on a field that a fact may lack is an error to the engine.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count
from typing import Any

from tacticapi.domain.reasoning import MatchRule
from tacticapi.domain.rules import Condition, FactKind, Op, Rulebook, Tactic, Test
from tacticapi.domain.situation import Wing

WINGED = (FactKind.BELIEF, FactKind.OBSERVED)
"""The kinds of facts that can carry a wing."""

SENTINEL_RULE = "sentinel"
SENTINEL_FACT = {"kind": "sentinel", "name": "end"}
_OPERATORS = {Op.AT_LEAST: "$gte", Op.AT_MOST: "$lte"}


@dataclass(frozen=True, slots=True)
class Conjunction:
    """One distinct conjunction as the engine holds it, with the rules that it stands for."""

    name: str
    conditions: tuple[Condition, ...]
    rules: tuple[MatchRule, ...]


def match_rules(rulebook: Rulebook) -> tuple[MatchRule, ...]:
    """All rules of a rulebook, numbered from 0 in the order of the file.

    `tactic/<id>/<n>` an alternative; `candidate/<id>/<n>` the same without its beliefs, where that differs;
    `unless/<id>/<n>` a counter-indication; `circumstance/<id>/<n>` a way to derive a circumstance.
    """
    rules = [rule for tactic in rulebook.tactics.values() for rule in _tactic_rules(tactic)]
    for circumstance in rulebook.circumstances.values():
        for number, conditions in enumerate(circumstance.when):
            rules.append(MatchRule(f"circumstance/{circumstance.id}/{number}", conditions, circumstance.id))
    return tuple(rules)


def _tactic_rules(tactic: Tactic) -> Iterator[MatchRule]:
    for number, alternative in enumerate(tactic.when):
        yield MatchRule(f"tactic/{tactic.id}/{number}", alternative.conditions)
        rest = without_beliefs(alternative.conditions)
        if rest != alternative.conditions:
            yield MatchRule(f"candidate/{tactic.id}/{number}", rest)
    for number, counter in enumerate(tactic.unless):
        yield MatchRule(f"unless/{tactic.id}/{number}", counter.conditions)


def without_beliefs(conditions: tuple[Condition, ...]) -> tuple[Condition, ...]:
    """The conditions that remain when nothing is believed yet; a wing that no other one sets is then free."""
    rest = [condition for condition in conditions if condition.kind is not FactKind.BELIEF]
    if wing_anchor(tuple(rest)) is None:
        tied = next((place for place, condition in enumerate(rest) if condition.same_wing), None)
        if tied is not None:
            rest[tied] = replace(rest[tied], same_wing=False)
    return tuple(rest)


def wing_anchor(conditions: tuple[Condition, ...]) -> int | None:
    """The place of the condition that sets the wing for those of the same wing: the first that can carry one."""
    free = (place for place, c in enumerate(conditions) if c.kind in WINGED and not c.same_wing)
    return next(free, None)


def conjunctions(rules: Sequence[MatchRule]) -> tuple[Conjunction, ...]:
    """The distinct conjunctions behind the rules. Rules without conditions need no engine and have none."""
    served: dict[tuple[Condition, ...], list[MatchRule]] = {}
    for rule in rules:
        for conditions in _by_wing(rule.conditions):
            served.setdefault(conditions, []).append(rule)
    numbers = count()
    return tuple(Conjunction(f"r{next(numbers)}", conditions, tuple(of)) for conditions, of in served.items())


def _by_wing(conditions: tuple[Condition, ...]) -> Iterator[tuple[Condition, ...]]:
    """The conditions without ties between them: as they are, or once a wing. None where the wing is never set."""
    if not any(condition.same_wing for condition in conditions):
        if conditions:
            yield conditions
        return
    anchor = wing_anchor(conditions)
    if anchor is None:
        return
    for wing in Wing:
        yield tuple(
            _on_wing(condition, wing) if condition.same_wing or place == anchor else condition
            for place, condition in enumerate(conditions)
        )


def _on_wing(condition: Condition, wing: Wing) -> Condition:
    on_wing = Test("wing", Op.IS, wing.value)
    tests = condition.tests if on_wing in condition.tests else (*condition.tests, on_wing)
    return replace(condition, tests=tests, same_wing=False)


def ruleset(rules: Sequence[MatchRule]) -> dict[str, Any]:
    """The engine's definition of the rules: one entry a distinct conjunction, and the sentinel's own.

    Two conditions of one rule may rest on the same fact (`dist` 0), as in ordinary logic.
    """
    sentinel = {"$and": [{field: value} for field, value in SENTINEL_FACT.items()]}
    definition: dict[str, Any] = {SENTINEL_RULE: {"all": [{"c0": sentinel}]}}
    for conjunction in conjunctions(rules):
        patterns = [{f"c{place}": _pattern(condition)} for place, condition in enumerate(conjunction.conditions)]
        definition[conjunction.name] = {"dist": 0, "all": patterns}
    return definition


def _pattern(condition: Condition) -> dict[str, Any]:
    tests = sorted(condition.tests, key=lambda test: (test.field, test.op, str(test.value)))
    return {"$and": [{"kind": condition.kind.value}, {"name": condition.name}, *map(_comparison, tests)]}


def _comparison(test: Test) -> dict[str, Any]:
    equal = {test.field: test.value}
    return equal if test.op is Op.IS else {_OPERATORS[test.op]: equal}
