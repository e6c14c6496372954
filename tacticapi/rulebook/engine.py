"""Run the rule engine behind a narrow interface: small flat facts in, (rule, matched facts) out.

durable-rules matches positive conjunctions correctly but is unsafe for anything else. So its host starts no threads,
all requests use the same session under a lock, every wave of facts ends with a sentinel that must fire, and the session
is deleted before the next request. Each condition tests the kind before the name, so that no node has many children.

`Admission` tests every fact against every condition on its subject, which is enough for rules with a single condition.
A fact enters the engine, with the tested fields only, if it helps to satisfy a rule whose conditions are all met.
"""

import json
from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from itertools import chain
from math import prod
from operator import eq, ge, le
from threading import Lock
from typing import Any

import durable_rules_engine as native
from durable.engine import Host

from tacticapi.domain.reasoning import Fact, MatchRule, RuleMatch
from tacticapi.domain.rules import Condition, FactKind, Op
from tacticapi.rulebook.match_rules import (
    MAX_NUMBER,
    Conjunction,
    EngineError,
    FiringBudgetExceeded,
    Retired,
    Truncated,
    conjunctions,
)

MAX_FIRINGS = 10_000
"""The maximum number of firings per request: about 0.1 s of work."""
SENTINEL_RULE = "sentinel"
SENTINEL_FACT = {"kind": "sentinel", "name": "end"}

_SESSION = "s"
_ID_KNOWN_ALREADY = 2  # the engine's result code
_OPERATORS = {Op.AT_LEAST: "$gte", Op.AT_MOST: "$lte"}
_RELATIONS = {Op.IS: eq, Op.AT_LEAST: ge, Op.AT_MOST: le}

_Payload = Mapping[str, int | str]
_Subject = tuple[FactKind, str]
_Checks = Sequence[tuple[str, type, Callable[[Any, Any], bool], int | str]]
"""A condition's tests as `Admission` runs them: field, type, relation, wanted value."""


class _QuietHost(Host):  # type: ignore[misc]
    """The library's host without its dispatcher threads, because they read freed memory."""

    def _run(self) -> None:
        pass


class Engine:
    """One compiled ruleset. It is never freed, so compile only one per process.

    `rules` must pass `lint`. The caller handles rules without conditions. Raises any error that the engine raises for a
    ruleset that it cannot hold, and EngineError if the warm-up request fails.
    """

    def __init__(self, rules: Sequence[MatchRule], name: str = "tactics", max_firings: int = MAX_FIRINGS) -> None:
        self.name = name
        self.max_firings = max_firings
        found = conjunctions(rules)
        held = [conjunction for conjunction in found if len(conjunction.conditions) > 1]
        self._rules = {conjunction.name: conjunction.rules for conjunction in held}
        self._admission = Admission(found)
        self._lock = Lock()
        self._retired = False
        definition = {rule: {**body, "run": lambda closure: None} for rule, body in ruleset(held).items()}
        self._handle: int = _QuietHost({name: definition}).get_ruleset(name)._handle
        warm_up = _Session(self._handle)
        warm_up.wave([])
        warm_up.delete()

    def run(self, facts: Sequence[Fact]) -> tuple[RuleMatch, ...]:
        """Return all matches of the rules that have conditions, in no particular order.

        A derived circumstance is matched as the fact `d.<name>`. Raises Truncated, FiringBudgetExceeded, Retired,
        or any error of the engine itself; never returns a partial result.
        """
        with self._lock:
            if self._retired:
                raise Retired(self.name)
            self._retired = True  # until the session is deleted
            session = _Session(self._handle)
            try:
                return self._matches(session, facts)
            finally:
                session.delete()
                self._retired = False

    def _matches(self, session: "_Session", facts: Sequence[Fact]) -> tuple[RuleMatch, ...]:
        door, circumstances = self._admission, {fact.name for fact in facts if fact.kind is FactKind.CIRCUMSTANCE}
        matches: list[RuleMatch] = []
        outside: list[tuple[Fact, list[int]]] = []
        admitted: list[Fact] = []
        met: Counter[int] = Counter()
        wave: Sequence[Fact] = facts
        while wave:
            known = [(fact, numbers) for fact in wave if (numbers := door.satisfied(fact))]
            met.update(chain.from_iterable([numbers for _, numbers in known]))
            found: list[tuple[Sequence[MatchRule], tuple[str, ...]]]
            found = [(door.alone[n], (fact.id,)) for fact, numbers in known for n in numbers if n in door.alone]
            complete = door.complete(met)
            to_come = sum([prod([met[number] for number in one]) for one in complete])
            if len(matches) + len(found) + to_come > self.max_firings:
                raise FiringBudgetExceeded(f"more than {self.max_firings} firings expected")
            wanted = {number for one in complete for number in one}
            outside += known
            entering = [fact for fact, numbers in outside if not wanted.isdisjoint(numbers)]
            outside = [one for one in outside if wanted.isdisjoint(one[1])]
            payloads = [{"id": f"f{n}", **door.payload(fact)} for n, fact in enumerate(entering, start=len(admitted))]
            admitted += entering
            for name, numbers in session.wave(payloads) if payloads else ():
                found.append((self._rules[name], tuple([admitted[number].id for number in numbers])))
            matches += [RuleMatch(rule.id, ids) for rules, ids in found for rule in rules]
            fresh = {rule.derives for rules, _ in found for rule in rules if rule.derives} - circumstances
            wave = [Fact(f"d.{name}", FactKind.CIRCUMSTANCE, name) for name in sorted(fresh)]
            circumstances |= fresh
        return tuple(matches)


class _Session:
    """The session for one request, started by its first wave. Deleting it is safe only after a rule has fired in it."""

    def __init__(self, handle: int) -> None:
        self._handle = handle
        self._waves = 0
        self._fired = False

    def wave(self, payloads: Sequence[_Payload]) -> list[tuple[str, list[int]]]:
        """Assert the facts and a sentinel; return each conjunction that fired, with the numbers of its facts."""
        batch = [*payloads, {"id": f"e{self._waves}", **SENTINEL_FACT}]
        self._waves += 1
        code, state = native.assert_facts(self._handle, json.dumps([{"sid": _SESSION, **fact} for fact in batch]))
        if code == _ID_KNOWN_ALREADY:
            raise EngineError("an id was asserted twice")
        fired = list(self._agenda(state))
        self._fired = self._fired or bool(fired)
        firings = [(rule, numbers) for rule, numbers in fired if rule != SENTINEL_RULE]
        if len(firings) == len(fired):
            raise Truncated(f"{len(payloads)} facts were asserted, but the sentinel after them did not fire")
        return firings

    def _agenda(self, state: int) -> Iterator[tuple[str, list[int]]]:
        started = native.start_action_for_state(self._handle, state)
        text = started and started[1]
        while text:
            ((rule, matched),) = json.loads(text).items()
            yield rule, [int(matched[f"c{place}"]["id"][1:]) for place in range(len(matched))]
            text = native.complete_and_start_action(self._handle, state)

    def delete(self) -> None:
        """Delete all facts of the request; if no rule has fired yet, fire a sentinel first."""
        if self._waves and not self._fired:
            self.wave([])
        if self._waves:
            native.delete_state(self._handle, _SESSION)


class Admission:
    """Selects the facts that enter the engine. `alone` lists the rules with one condition, keyed by its number."""

    def __init__(self, conjunctions: Iterable[Conjunction]) -> None:
        self.alone: dict[int, Sequence[MatchRule]] = {}
        self._numbers: dict[Condition, int] = {}
        self._conditions: dict[_Subject, list[tuple[int, _Checks]]] = {}
        self._values: dict[_Subject, dict[str, set[int | str]]] = defaultdict(lambda: defaultdict(set))
        self._conjunctions: dict[int, list[tuple[int, ...]]] = defaultdict(list)
        for conjunction in conjunctions:
            numbers = tuple(map(self._numbered, conjunction.conditions))
            if len(numbers) == 1:
                self.alone[numbers[0]] = conjunction.rules
                continue
            self._conjunctions[numbers[0]].append(numbers)
            for condition in conjunction.conditions:
                for test in condition.tests:
                    self._values[condition.kind, condition.name][test.field].add(test.value)

    def _numbered(self, condition: Condition) -> int:
        if condition not in self._numbers:
            self._numbers[condition] = number = len(self._numbers)
            checks = [(test.field, type(test.value), _RELATIONS[test.op], test.value) for test in condition.tests]
            self._conditions.setdefault((condition.kind, condition.name), []).append((number, checks))
        return self._numbers[condition]

    def satisfied(self, fact: Fact) -> list[int]:
        """Return the numbers of the conditions that the fact meets: each value has the right type and compares so."""
        met = []
        for number, checks in self._conditions.get((fact.kind, fact.name), ()):
            for field, of_type, relation, wanted in checks:
                value = fact.fields.get(field)
                if type(value) is not of_type or not relation(value, wanted):
                    break
            else:
                met.append(number)
        return met

    def payload(self, fact: Fact) -> dict[str, int | str]:
        """Return the fact as the engine sees it. Raises ValueError for a number beyond MAX_NUMBER."""
        shown: dict[str, int | str] = {"kind": fact.kind.value, "name": fact.name}
        for field, values in self._values[fact.kind, fact.name].items():
            value = fact.fields.get(field)
            if type(value) is int:
                if abs(value) > MAX_NUMBER:
                    raise ValueError(f"{fact.id}: {field} is beyond {MAX_NUMBER}")
                shown[field] = value
            elif type(value) is str and value in values:
                shown[field] = value
        return shown

    def complete(self, met: Collection[int]) -> list[tuple[int, ...]]:
        """Return each conjunction whose conditions are all met, as the numbers of its conditions."""
        ready = met.__contains__
        return [one for number in met for one in self._conjunctions.get(number, ()) if all(map(ready, one))]


def ruleset(held: Sequence[Conjunction]) -> dict[str, Any]:
    """Return the engine's definition of the rules: one entry per distinct conjunction, and one for the sentinel."""
    sentinel = {"$and": [{field: value} for field, value in SENTINEL_FACT.items()]}
    definition: dict[str, Any] = {SENTINEL_RULE: {"all": [{"c0": sentinel}]}}
    for conjunction in held:
        patterns = [{f"c{place}": _pattern(condition)} for place, condition in enumerate(conjunction.conditions)]
        definition[conjunction.name] = {"dist": 0, "all": patterns}
    return definition


def _pattern(condition: Condition) -> dict[str, Any]:
    tests = sorted(condition.tests, key=lambda test: (test.field, test.op, str(test.value)))
    equal = [(test.op, {test.field: test.value}) for test in tests]
    compared = [pair if op is Op.IS else {_OPERATORS[op]: pair} for op, pair in equal]
    return {"$and": [{"kind": condition.kind.value}, {"name": condition.name}, *compared]}
