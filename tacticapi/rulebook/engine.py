"""The rule engine behind a narrow door: small flat facts in, (rule, matched facts) out.

durable-rules is a sound matcher of positive conjunctions and unsafe in most other uses: its own threads, a
session in which nothing fired, a value that it cannot parse. So its host starts no thread, every request uses
the one session under a lock, every wave of facts ends with a sentinel that must fire, and the session is deleted
before the next request. A condition tells facts apart first by kind, then by name, so that no node of the engine's
network has many children.

Every fact is tested at the door by every condition on its subject. That settles the rules of one condition. The engine
holds the others, and a fact that satisfies none of their conditions stays outside; of the rest only the fields that
some condition tests go in. So words come from the rulebook alone and numbers are whole, whatever a client has typed.
"""

import json
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import prod
from operator import eq, ge, le
from threading import Lock
from typing import Any

import durable_rules_engine as native
from durable.engine import Host

from tacticapi.domain.reasoning import Fact, MatchRule, RuleMatch
from tacticapi.domain.rules import Condition, FactKind, Op, Test
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
"""Firings that one request may cause, about 0.1 s of work: a bound on what one request can cost."""
SENTINEL_RULE = "sentinel"
SENTINEL_FACT = {"kind": "sentinel", "name": "end"}

_SESSION = "s"
_ID_KNOWN_ALREADY = 2  # the engine's result code
_OPERATORS = {Op.AT_LEAST: "$gte", Op.AT_MOST: "$lte"}
_RELATIONS = {Op.IS: eq, Op.AT_LEAST: ge, Op.AT_MOST: le}

_Payload = Mapping[str, int | str]
_Subject = tuple[FactKind, str]
_Door = tuple[list[tuple[tuple[Test, ...], Sequence[MatchRule]]], list[tuple[tuple[Test, ...], int]]]
"""Who asks for facts of one subject: the rules of one condition, and the conditions of others by number."""
NOBODY: _Door = ([], [])


class _QuietHost(Host):  # type: ignore[misc]
    """The library's host without its dispatcher threads, which read memory that is freed already."""

    def _run(self) -> None:
        pass


class Engine:
    """One compiled ruleset. It is never freed, so compile one a process.

    `rules` must pass the rulebook's lint. Those without conditions are left to the caller. Raises whatever the
    engine raises for a ruleset that it cannot hold, and EngineError where the warm-up request fails.
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
        self.run(())

    def run(self, facts: Sequence[Fact]) -> tuple[RuleMatch, ...]:
        """Return all matches of the rules with conditions, in no promised order.

        A derived circumstance is matched as the fact `d.<name>`. Raises Truncated, FiringBudgetExceeded,
        Retired, or what the engine itself raises; never returns a partial answer.
        """
        with self._lock:
            if self._retired:
                raise Retired(self.name)
            self._retired = True  # until the session is gone again
            session = _Session(self._handle)
            session.open()
            try:
                return self._matches(session, facts)
            finally:
                session.delete()
                self._retired = False

    def _matches(self, session: "_Session", facts: Sequence[Fact]) -> tuple[RuleMatch, ...]:
        circumstances = {fact.name for fact in facts if fact.kind is FactKind.CIRCUMSTANCE}
        matches: list[RuleMatch] = []
        admitted: list[Fact] = []
        counts: Counter[int] = Counter()
        wave: Sequence[Fact] = facts
        while wave:
            found: list[tuple[Sequence[MatchRule], tuple[str, ...]]] = []
            payloads: list[_Payload] = []
            for fact in wave:
                alone, joined = self._admission.satisfied(fact)
                if alone:
                    found += [(rules, (fact.id,)) for rules in alone]
                if joined:
                    payloads.append({"id": f"f{len(admitted)}", **self._admission.payload(fact)})
                    admitted.append(fact)
                    counts.update(joined)
            if len(matches) + len(found) + self._admission.firings(counts) > self.max_firings:
                raise FiringBudgetExceeded(f"more than {self.max_firings} firings to come")
            for name, numbers in session.wave(payloads) if payloads else ():
                found.append((self._rules[name], tuple([admitted[number].id for number in numbers])))
            matches += [RuleMatch(rule.id, ids) for rules, ids in found for rule in rules]
            fresh = {rule.derives for rules, _ in found for rule in rules if rule.derives} - circumstances
            wave = [Fact(f"d.{name}", FactKind.CIRCUMSTANCE, name) for name in sorted(fresh)]
            circumstances |= fresh
        return tuple(matches)


class _Session:
    """The session of one request. Deleting it is safe only once a rule has fired in it: see `open`."""

    def __init__(self, handle: int) -> None:
        self._handle = handle
        self._waves = 0

    def open(self) -> None:
        """Fire the sentinel once, so that the session can be deleted whatever comes after."""
        self.wave([])

    def wave(self, payloads: Sequence[_Payload]) -> list[tuple[str, list[int]]]:
        """Assert the facts and a sentinel; return each conjunction that fired with the numbers of its facts."""
        batch = [*payloads, {"id": f"e{self._waves}", **SENTINEL_FACT}]
        self._waves += 1
        code, state = native.assert_facts(self._handle, json.dumps([{"sid": _SESSION, **fact} for fact in batch]))
        if code == _ID_KNOWN_ALREADY:
            raise EngineError("an id was asserted twice")
        fired = list(self._agenda(state))
        firings = [(rule, numbers) for rule, numbers in fired if rule != SENTINEL_RULE]
        if len(firings) == len(fired):
            raise Truncated(f"{len(payloads)} facts asserted, and the sentinel behind them did not fire")
        return firings

    def _agenda(self, state: int) -> Iterator[tuple[str, list[int]]]:
        started = native.start_action_for_state(self._handle, state)
        text = started and started[1]
        while text:
            ((rule, matched),) = json.loads(text).items()
            yield rule, [int(matched[f"c{place}"]["id"][1:]) for place in range(len(matched))]
            text = native.complete_and_start_action(self._handle, state)

    def delete(self) -> None:
        """Forget all facts of the request."""
        native.delete_state(self._handle, _SESSION)


class Admission:
    """The door to the engine, indexed once for all conjunctions."""

    def __init__(self, conjunctions: Iterable[Conjunction]) -> None:
        self._numbers: dict[Condition, int] = {}
        self._doors: dict[_Subject, _Door] = defaultdict(lambda: ([], []))
        self._values: dict[_Subject, dict[str, set[int | str]]] = {}
        self._conjunctions: dict[int, set[tuple[int, ...]]] = defaultdict(set)
        for conjunction in conjunctions:
            if len(conjunction.conditions) == 1:
                (only,) = conjunction.conditions
                self._doors[only.kind, only.name][0].append((only.tests, conjunction.rules))
                continue
            numbers = tuple(self._numbered(condition) for condition in conjunction.conditions)
            for number in numbers:
                self._conjunctions[number].add(numbers)

    def _numbered(self, condition: Condition) -> int:
        if condition not in self._numbers:
            self._numbers[condition] = len(self._numbers)
            subject = (condition.kind, condition.name)
            self._doors[subject][1].append((condition.tests, self._numbers[condition]))
            values = self._values.setdefault(subject, {})
            for test in condition.tests:
                values.setdefault(test.field, set()).add(test.value)
        return self._numbers[condition]

    def satisfied(self, fact: Fact) -> tuple[list[Sequence[MatchRule]], list[int]]:
        """Return the rules that the fact fires by itself, and the numbers of the conditions of others that it meets."""
        alone, joined = self._doors.get((fact.kind, fact.name), NOBODY)
        fields = fact.fields
        return (
            [rules for tests, rules in alone if _passes(tests, fields)],
            [number for tests, number in joined if _passes(tests, fields)],
        )

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

    def firings(self, counts: Mapping[int, int]) -> int:
        """Return how often the engine will fire. `counts`: by number of a condition, how many facts satisfy it."""
        touched = {conjunction for number in counts for conjunction in self._conjunctions[number]}
        return sum(prod(counts.get(number, 0) for number in conjunction) for conjunction in touched)


def _passes(tests: Iterable[Test], fields: Mapping[str, int | str]) -> bool:
    """Return whether the fields pass all tests: words equal the wanted ones, numbers are in the wanted relation."""
    for test in tests:
        value, wanted = fields.get(test.field), test.value
        if type(value) is int and type(wanted) is int:
            if not _RELATIONS[test.op](value, wanted):
                return False
        elif test.op is not Op.IS or type(value) is not type(wanted) or value != wanted:
            return False
    return True


def ruleset(held: Sequence[Conjunction]) -> dict[str, Any]:
    """Return the engine's definition of the rules: one entry a distinct conjunction, and the sentinel's own.

    Two conditions of one rule may rest on the same fact (`dist` 0), as in ordinary logic.
    """
    sentinel = {"$and": [{field: value} for field, value in SENTINEL_FACT.items()]}
    definition: dict[str, Any] = {SENTINEL_RULE: {"all": [{"c0": sentinel}]}}
    for conjunction in held:
        patterns = [{f"c{place}": _pattern(condition)} for place, condition in enumerate(conjunction.conditions)]
        definition[conjunction.name] = {"dist": 0, "all": patterns}
    return definition


def _pattern(condition: Condition) -> dict[str, Any]:
    tests = sorted(condition.tests, key=lambda test: (test.field, test.op, str(test.value)))
    return {"$and": [{"kind": condition.kind.value}, {"name": condition.name}, *map(_comparison, tests)]}


def _comparison(test: Test) -> dict[str, Any]:
    equal = {test.field: test.value}
    return equal if test.op is Op.IS else {_OPERATORS[test.op]: equal}
