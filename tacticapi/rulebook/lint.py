"""Find what a rulebook must not ask of the matcher: unknown names, senseless values, more than the engine bears."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from tacticapi.domain.reasoning import MatchRule
from tacticapi.domain.rules import Condition, FactKind, ObservationKind, Op, Rulebook, Test
from tacticapi.domain.situation import Way
from tacticapi.rulebook.circumstances import COMPUTED
from tacticapi.rulebook.conditions import (
    MAX_RATING,
    PROFILE_SUBJECTS,
    QUALIFIERS,
    SCORE_NUMBERS,
    SCORE_WORDS,
    circle_in,
)
from tacticapi.rulebook.danger import sign_circumstance
from tacticapi.rulebook.expansion import PLAIN_COUNT, SCALE_OBSERVED, SCALE_PERMILLE, part_name
from tacticapi.rulebook.match_rules import MAX_NUMBER, conjunctions, wing_anchor

# Measured limits of the engine: beyond them it refuses a rule, loses facts, hangs or crashes.
MAX_PATTERNS = 8  # conditions a rule
MAX_PENDING = 64  # distinct conditions that one fact may satisfy
MAX_ON_ONE_PATH = 250  # conjunctions that use one identical condition
MAX_NAMES = 500  # names a kind of facts
MAX_WORD = 64  # characters

Words = frozenset[str]
Range = tuple[int, int]
Fields = Mapping[str, Words | Range]
"""For each field its words, or its least and greatest number."""

_COUNT = (0, MAX_NUMBER)
_PERMILLE = (0, SCALE_PERMILLE)
_WORD = re.compile(rf"[A-Za-z0-9 ._:+/%-]{{1,{MAX_WORD}}}")


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault: the rule id or the fact it is about, what is wrong, and what was expected."""

    where: str
    what: str
    expected: str


def lint(rules: Sequence[MatchRule], rulebook: Rulebook) -> list[Finding]:
    """Return all faults of the rules against the rulebook, rule by rule, then those of the rules together."""
    return [
        *(finding for rule in rules for finding in _rule(rule, rulebook)),
        *_load(rules),
        *_circumstances(rules, rulebook),
    ]


def _rule(rule: MatchRule, rulebook: Rulebook) -> Iterator[Finding]:
    if len(rule.conditions) > MAX_PATTERNS:
        yield Finding(rule.id, f"{len(rule.conditions)} conditions", f"at most {MAX_PATTERNS}")
    for condition, times in Counter(rule.conditions).items():
        if times > 1:
            yield Finding(rule.id, f"{condition.kind} {condition.name} stands {times} times", "each condition once")
    for condition in rule.conditions:
        fields = fields_of(condition.kind, condition.name, rulebook)
        if fields is None:
            yield Finding(rule.id, f"unknown name: {condition.kind} {condition.name}", "a name of the rulebook")
        else:
            yield from _condition(rule.id, condition, fields)
    yield from _ties(rule, rulebook)


def _condition(where: str, condition: Condition, fields: Fields) -> Iterator[Finding]:
    subject = f"{condition.kind} {condition.name}"
    if not _WORD.fullmatch(condition.name):
        yield Finding(where, f"{subject}: unfit name", f"plain characters, at most {MAX_WORD}")
    if condition.kind is FactKind.BELIEF and not any(test.field == "permille" for test in condition.tests):
        yield Finding(where, f"{subject} without a threshold", "how likely it must be")
    for test in condition.tests:
        allowed = fields.get(test.field)
        if allowed is None:
            yield Finding(where, f"{subject} has no {test.field}", f"one of: {', '.join(fields) or 'no tests at all'}")
        elif (expected := _expected(test, allowed)) is not None:
            yield Finding(where, f"{subject}: {test.field} {test.op} {test.value!r}", expected)


def _expected(test: Test, allowed: Words | Range) -> str | None:
    """Return what a test should have asked for; None if it is right."""
    if isinstance(allowed, frozenset):
        if test.op is not Op.IS or test.value not in allowed:
            return f"is one of: {', '.join(sorted(allowed))}"
        return None if _WORD.fullmatch(str(test.value)) else f"plain characters, at most {MAX_WORD}"
    low, high = allowed
    whole = type(test.value) is int
    return None if whole and low <= int(test.value) <= high else f"a whole number, {low} to {high}"


def _ties(rule: MatchRule, rulebook: Rulebook) -> Iterator[Finding]:
    tied = [condition for condition in rule.conditions if condition.same_wing]
    anchor = wing_anchor(rule.conditions)
    if tied and anchor is None:
        yield Finding(rule.id, "the same wing as what?", "a belief or an observation that sets the wing")
    elif tied and anchor is not None:
        for condition in (rule.conditions[anchor], *tied):
            fields = fields_of(condition.kind, condition.name, rulebook)
            if fields is not None and "wing" not in fields:
                what = f"{condition.kind} {condition.name} carries no wing"
                yield Finding(rule.id, what, "first the condition that sets the wing, and ties only to what has one")


def _load(rules: Sequence[MatchRule]) -> Iterator[Finding]:
    """Yield what the engine cannot bear, counted on the distinct conjunctions that it will hold."""
    uses = Counter(condition for each in conjunctions(rules) for condition in set(each.conditions))
    for condition, number in uses.items():
        if number > MAX_ON_ONE_PATH:
            where = f"{condition.kind} {condition.name}"
            yield Finding(where, f"{number} rules with the same condition", f"at most {MAX_ON_ONE_PATH}")
    pending = Counter((condition.kind, condition.name) for condition in uses)
    for (kind, name), number in pending.items():
        if number > MAX_PENDING:
            yield Finding(f"{kind} {name}", f"{number} different conditions", f"at most {MAX_PENDING}")
    for kind, number in Counter(kind for kind, _ in pending).items():
        if number > MAX_NAMES:
            yield Finding(str(kind), f"{number} different names", f"at most {MAX_NAMES}")


def _circumstances(rules: Sequence[MatchRule], rulebook: Rulebook) -> Iterator[Finding]:
    needs = {name: set[str]() for name, circumstance in rulebook.circumstances.items() if circumstance.when}
    used: set[str] = set()
    for rule in rules:
        named = {condition.name for condition in rule.conditions if condition.kind is FactKind.CIRCUMSTANCE}
        used |= named - {rule.derives}
        if rule.derives in needs:
            needs[rule.derives] |= named
    computed = COMPUTED.keys() | {sign_circumstance(sign.id) for sign in rulebook.danger.signs}
    for name in sorted(rulebook.circumstances.keys() - needs.keys() - computed):
        yield Finding(f"circumstance {name}", "neither derived nor computed", "conditions, or a computation")
    for name in sorted(needs.keys() & computed):
        yield Finding(f"circumstance {name}", "both derived and computed", "one of the two")
    for name in sorted(needs.keys() - used):
        yield Finding(f"circumstance {name}", "derived, and no rule uses it", "a rule that uses it")
    if circle := circle_in(needs):
        yield Finding(f"circumstance {circle[0]}", f"goes in a circle: {' > '.join(circle)}", "no circle")


def fields_of(kind: FactKind, name: str, rulebook: Rulebook) -> Fields | None:
    """Return the fields that a fact of this kind and name can hold; None if the rulebook has no such name."""
    found: Fields | None = None
    match kind:
        case FactKind.BELIEF if name in rulebook.traits:
            wings = frozenset(wing.value for wing in rulebook.traits[name].wings if wing)
            found = {"permille": (1, 999), "seen": frozenset({"yes"}), **({"wing": wings} if wings else {})}
        case FactKind.OWN | FactKind.OPPONENT | FactKind.CONTEXT:
            found = _profile(rulebook.kinds.get(f"{kind}.{name}"))
        case FactKind.OBSERVED:
            found = _observed(rulebook.kinds.get(name))
        case FactKind.UNSEEN:
            found = None if _observed(rulebook.kinds.get(name)) is None else {}
        case FactKind.SCORE if name in SCORE_WORDS:
            found = {"value": frozenset(SCORE_WORDS[name])}
        case FactKind.SCORE if name in SCORE_NUMBERS:
            found = {"number": SCORE_NUMBERS[name]}
        case FactKind.TRIES if name in rulebook.tactics:
            found = {"tried": _COUNT, "won": _COUNT, "permille": _PERMILLE}
        case FactKind.CIRCUMSTANCE if name in rulebook.circumstances:
            found = {}
    return found


def _profile(spec: ObservationKind | None) -> Fields | None:
    if spec is None:
        return None
    found: dict[str, Words | Range] = {}
    if words := {*spec.options, *(("yes", "no") if Way.SEEN in spec.ways else ())}:
        found["value"] = frozenset(words)
    if Way.RATING in spec.ways:
        found["number"] = (0, MAX_RATING)
    if Way.AMOUNT in spec.ways:
        found["number"] = _amount(spec, 1)
    return found


def _observed(spec: ObservationKind | None) -> Fields | None:
    if spec is None or spec.subject in PROFILE_SUBJECTS:
        return None
    found: dict[str, Words | Range] = {q: frozenset(words) for q, words in QUALIFIERS.items() if q in spec.qualifiers}
    used = [q for q in QUALIFIERS if q in spec.qualifiers]
    found["part"] = frozenset(part_name(some) for size in range(len(used) + 1) for some in combinations(used, size))
    ways = set(spec.ways)
    if ways & {Way.COUNT, Way.COUNTS}:
        found |= {"permille": _PERMILLE, "chances": _COUNT}
        found["option"] = frozenset({PLAIN_COUNT, *(spec.options if Way.COUNTS in ways else ())})
    if Way.VALUE in ways:
        found["value"] = frozenset(spec.options)
    if Way.RATING in ways:
        found["rating"] = (0, MAX_RATING * SCALE_OBSERVED)
    if Way.AMOUNT in ways:
        found["amount"] = _amount(spec, SCALE_OBSERVED)
    if Way.SEEN in ways:
        found["seen"] = frozenset({"yes"})
    return found


def _amount(spec: ObservationKind, scale: int) -> Range:
    low = -MAX_NUMBER if spec.low is None else round(scale * spec.low)
    high = MAX_NUMBER if spec.high is None else round(scale * spec.high)
    return low, high
