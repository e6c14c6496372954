"""What of a fact enters the engine: nothing that no condition asks for, and no value that it cannot bear.

A fact that satisfies no condition stays outside, and of the others only the fields that some condition tests
go in. So words come from the rulebook alone and numbers are whole, whatever a client has typed.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from math import prod
from operator import eq, ge, le

from tacticapi.domain.reasoning import Fact
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.inference.compile import Conjunction
from tacticapi.inference.limits import MAX_NUMBER

_Subject = tuple[FactKind, str]
_RELATIONS = {Op.IS: eq, Op.AT_LEAST: ge, Op.AT_MOST: le}


class Admission:
    """The door to the engine, indexed once for the conjunctions that the engine holds."""

    def __init__(self, conjunctions: Iterable[Conjunction]) -> None:
        self._numbers: dict[Condition, int] = {}
        self._asked: dict[_Subject, list[tuple[int, tuple[Test, ...]]]] = defaultdict(list)
        self._values: dict[_Subject, dict[str, set[int | str]]] = {}
        self._conjunctions: dict[int, set[tuple[int, ...]]] = defaultdict(set)
        for conjunction in conjunctions:
            numbers = tuple(self._numbered(condition) for condition in conjunction.conditions)
            for number in numbers:
                self._conjunctions[number].add(numbers)

    def _numbered(self, condition: Condition) -> int:
        if condition not in self._numbers:
            self._numbers[condition] = len(self._numbers)
            subject = (condition.kind, condition.name)
            self._asked[subject].append((self._numbers[condition], condition.tests))
            values = self._values.setdefault(subject, {})
            for test in condition.tests:
                values.setdefault(test.field, set()).add(test.value)
        return self._numbers[condition]

    def satisfied(self, fact: Fact) -> tuple[int, ...]:
        """The numbers of the distinct conditions that the fact satisfies by itself."""
        asked = self._asked.get((fact.kind, fact.name), ())
        return tuple([number for number, tests in asked if _passes(tests, fact.fields)])

    def payload(self, fact: Fact) -> dict[str, int | str]:
        """The fact as the engine sees it. Raises ValueError for a number beyond MAX_NUMBER."""
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
        """How often the conjunctions fire that more than one set of facts satisfies.

        `counts` holds, by number of a condition, how many facts satisfy it.
        """
        several = (number for number, facts in counts.items() if facts > 1)
        touched = {conjunction for number in several for conjunction in self._conjunctions[number]}
        return sum(prod(counts.get(number, 0) for number in conjunction) for conjunction in touched)


def _passes(tests: Iterable[Test], fields: Mapping[str, int | str]) -> bool:
    """Whether the fields pass all tests: a word equals the wanted one, a number stands in the wanted relation."""
    for test in tests:
        value, wanted = fields.get(test.field), test.value
        if type(value) is int and type(wanted) is int:
            if not _RELATIONS[test.op](value, wanted):
                return False
        elif test.op is not Op.IS or type(value) is not type(wanted) or value != wanted:
            return False
    return True
