"""Evaluate match rules in plain Python, as the oracle for tests, the source of near misses and the engine's fallback.

A rule matches once for every choice of one fact per condition whose fields pass all tests. A missing field passes no
test. A `same_wing` condition requires the wing of the first belief or observation that is not itself `same_wing`.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from math import prod

from tacticapi.domain.reasoning import Fact, MatchRule, RuleMatch
from tacticapi.domain.rules import Condition, FactKind, Op, Test

MAX_CHOICES = 200_000
"""The maximum number of choices of facts that the evaluator tries per request: a fraction of a second."""

_Known = Mapping[tuple[FactKind, str], Sequence[Fact]]


class TooManyMatches(RuntimeError):
    """Raised if the facts match the rules in more ways than a request is allowed, on either engine."""


def evaluate(rules: Sequence[MatchRule], facts: Sequence[Fact]) -> tuple[RuleMatch, ...]:
    """Return all matches, sorted. A derived circumstance becomes the fact `d.<name>`. Raises TooManyMatches."""
    known = _by_subject(facts)
    while fresh := {rule.derives for rule in rules if rule.derives and _is_news(rule, known)}:
        for name in fresh:
            known[FactKind.CIRCUMSTANCE, name] = [Fact(f"d.{name}", FactKind.CIRCUMSTANCE, name)]
    left = MAX_CHOICES
    matches = []
    for rule in rules:
        options = _options(rule.conditions, known)
        left -= prod(map(len, options))
        if left < 0:
            raise TooManyMatches(rule.id)
        for choice in _choices(rule.conditions, options):
            matches.append(RuleMatch(rule.id, tuple(fact.id for fact in choice)))
    return tuple(sorted(matches))


def nearest_miss(conditions: Sequence[Condition], facts: Sequence[Fact]) -> list[tuple[Condition, Fact | None]]:
    """Return the conditions that prevent a rule from matching, each with the nearest fact; [] if the rule matches."""
    known = _by_subject(facts)
    options = _options(conditions, known)
    unmet = {place for place, satisfying in enumerate(options) if not satisfying}
    unmet.update(_off_wing(conditions, options))
    return [(conditions[place], _nearest(conditions[place], known)) for place in sorted(unmet)]


def _by_subject(facts: Sequence[Fact]) -> dict[tuple[FactKind, str], list[Fact]]:
    known: dict[tuple[FactKind, str], list[Fact]] = {}
    for fact in facts:
        known.setdefault((fact.kind, fact.name), []).append(fact)
    return known


def _is_news(rule: MatchRule, known: _Known) -> bool:
    if (FactKind.CIRCUMSTANCE, rule.derives) in known:
        return False
    return next(_choices(rule.conditions, _options(rule.conditions, known)), None) is not None


def _options(conditions: Sequence[Condition], known: _Known) -> list[list[Fact]]:
    named = ((one.tests, known.get((one.kind, one.name), ())) for one in conditions)
    return [[fact for fact in facts if all(_passes(fact, test) for test in tests)] for tests, facts in named]


def _passes(fact: Fact, test: Test) -> bool:
    value, wanted = fact.fields.get(test.field), test.value
    if isinstance(value, int) and isinstance(wanted, int):
        return {Op.IS: value == wanted, Op.AT_LEAST: value >= wanted, Op.AT_MOST: value <= wanted}[test.op]
    return test.op is Op.IS and value == wanted


def _choices(conditions: Sequence[Condition], options: Sequence[Sequence[Fact]]) -> Iterator[tuple[Fact, ...]]:
    """Yield every choice of one fact per condition in which all `same_wing` conditions share one wing."""
    tied = [place for place, condition in enumerate(conditions) if condition.same_wing]
    if not tied:
        yield from product(*options)
        return
    setter = _wing_setter(conditions)
    if setter is None:
        return
    for choice in product(*options):
        wing = choice[setter].fields.get("wing")
        if wing is not None and all(choice[place].fields.get("wing") == wing for place in tied):
            yield choice


def _wing_setter(conditions: Sequence[Condition]) -> int | None:
    for place, condition in enumerate(conditions):
        if condition.kind in (FactKind.BELIEF, FactKind.OBSERVED) and not condition.same_wing:
            return place
    return None


def _off_wing(conditions: Sequence[Condition], options: Sequence[Sequence[Fact]]) -> list[int]:
    """Return the `same_wing` conditions that no fact satisfies on the wing that satisfies most of them."""
    tied = [place for place, condition in enumerate(conditions) if condition.same_wing]
    setter = _wing_setter(conditions)
    if setter is None or not tied:
        return tied
    wings = sorted({str(fact.fields["wing"]) for fact in options[setter] if "wing" in fact.fields})
    shown = {place: {fact.fields.get("wing") for fact in options[place]} for place in tied}
    missing = [[place for place in tied if wing not in shown[place]] for wing in wings]
    return min(missing, key=len, default=[setter])


def _nearest(condition: Condition, known: _Known) -> Fact | None:
    """Return the fact that fails the fewest tests; break ties by the smallest total gap, then by id."""

    def distance(fact: Fact) -> tuple[int, int, str]:
        failed = [test for test in condition.tests if not _passes(fact, test)]
        gaps = [(fact.fields.get(test.field), test.value) for test in failed]
        numbers = [abs(value - wanted) for value, wanted in gaps if isinstance(value, int) and isinstance(wanted, int)]
        return len(failed), sum(numbers), fact.id

    return min(known.get((condition.kind, condition.name), ()), key=distance, default=None)
