"""Turn the rulebook into match rules, and matched rules back into their tactics.

The engine supports only positive conjunctions of "equal", "at least" and "at most". A rule with a `same_wing` condition
becomes one conjunction per wing, because the engine cannot join on a field that a fact may lack. This module also
contains what both matchers share: the engine's limits and its kinds of failure.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import count

from tacticapi.domain.reasoning import Firing, Firings, Inference, MatchRule
from tacticapi.domain.rules import Condition, FactKind, Op, Rulebook, Test
from tacticapi.domain.situation import Wing

WINGED = (FactKind.BELIEF, FactKind.OBSERVED)
"""The kinds of facts that can have a wing."""
# Measured limits: beyond them, the engine refuses a rule, loses facts, hangs or crashes. The schema of conditions
# enforces one more: at most 8 conditions per rule.
MAX_PENDING = 64  # distinct conditions that one fact may satisfy
MAX_ON_ONE_PATH = 250  # conjunctions that use one identical condition
MAX_NAMES = 500  # names per kind of fact
MAX_NUMBER = 2**31 - 1
"""The largest whole number that the engine accepts."""


class EngineError(RuntimeError):
    """Raised if the engine cannot answer a request completely; `kind` is one of KINDS."""

    kind = "other"


class Truncated(EngineError):
    """Raised if the engine lost some facts, so that its result would be incomplete."""

    kind = "truncated"


class Retired(EngineError):
    """Raised if an earlier session could not be deleted; the engine then accepts no more requests."""

    kind = "retired"


class FiringBudgetExceeded(EngineError):
    """Raised if a request would cause more firings than the engine allows per request."""

    kind = "firing-budget"


KINDS = ("truncated", "firing-budget", "retired", "not-loaded", "other")
"""The kinds of failure: each error's kind, and "not-loaded" for an engine that never started."""


@dataclass(frozen=True, slots=True)
class Conjunction:
    """One distinct conjunction in the engine, with the rules that it represents."""

    name: str
    conditions: tuple[Condition, ...]
    rules: tuple[MatchRule, ...]


def match_rules(rulebook: Rulebook) -> tuple[MatchRule, ...]:
    """Return all match rules of a rulebook, numbered from 0 in file order.

    `tactic/<id>/<n>` is an alternative; `candidate/<id>/<n>` is the same without its beliefs, if that differs;
    `unless/<id>/<n>` is a counter-indication; `circumstance/<id>/<n>` is one way to derive a circumstance.
    """
    rules = []
    for tactic in rulebook.tactics.values():
        for number, alternative in enumerate(tactic.when):
            rules.append(MatchRule(f"tactic/{tactic.id}/{number}", alternative.conditions))
            rest = without_beliefs(alternative.conditions)
            if rest != alternative.conditions:
                rules.append(MatchRule(f"candidate/{tactic.id}/{number}", rest))
        for number, counter in enumerate(tactic.unless):
            rules.append(MatchRule(f"unless/{tactic.id}/{number}", counter.conditions))
    for circumstance in rulebook.circumstances.values():
        for number, conditions in enumerate(circumstance.when):
            rules.append(MatchRule(f"circumstance/{circumstance.id}/{number}", conditions, circumstance.id))
    return tuple(rules)


def without_beliefs(conditions: tuple[Condition, ...]) -> tuple[Condition, ...]:
    """Return the conditions without beliefs; if none of them sets the wing, free the first `same_wing` condition."""
    rest = [condition for condition in conditions if condition.kind is not FactKind.BELIEF]
    if wing_anchor(rest) is None:
        tied = next((place for place, condition in enumerate(rest) if condition.same_wing), None)
        if tied is not None:
            rest[tied] = replace(rest[tied], same_wing=False)
    return tuple(rest)


def wing_anchor(conditions: Sequence[Condition]) -> int | None:
    """Return the index of the condition that sets the wing for the `same_wing` ones: the first that can have a wing."""
    free = (place for place, c in enumerate(conditions) if c.kind in WINGED and not c.same_wing)
    return next(free, None)


def conjunctions(rules: Sequence[MatchRule]) -> tuple[Conjunction, ...]:
    """Return the distinct conjunctions in the rules. Rules without conditions need no engine and have none."""
    served: dict[tuple[Condition, ...], list[MatchRule]] = {}
    for rule in rules:
        for conditions in _by_wing(rule.conditions):
            served.setdefault(conditions, []).append(rule)
    numbers = count()
    return tuple(Conjunction(f"r{next(numbers)}", conditions, tuple(of)) for conditions, of in served.items())


def _by_wing(conditions: tuple[Condition, ...]) -> Iterator[tuple[Condition, ...]]:
    """Yield the conditions without `same_wing`: unchanged, or once per wing; nothing if no condition sets the wing."""
    if not any(condition.same_wing for condition in conditions):
        if conditions:
            yield conditions
        return
    anchor = wing_anchor(conditions)
    if anchor is None:
        return
    for wing in Wing:
        tied = (one.same_wing or place == anchor for place, one in enumerate(conditions))
        yield tuple(_on_wing(one, wing) if on else one for one, on in zip(conditions, tied, strict=True))


def _on_wing(condition: Condition, wing: Wing) -> Condition:
    on_wing = Test("wing", Op.IS, wing.value)
    tests = condition.tests if on_wing in condition.tests else (*condition.tests, on_wing)
    return replace(condition, tests=tests, same_wing=False)


def read_firings(inference: Inference, rulebook: Rulebook) -> Firings:
    """Group the matches by tactic: the firings of its alternatives and the counter-indications that apply."""
    fired: dict[str, list[Firing]] = {}
    counters: dict[str, set[int]] = {}
    playable: list[tuple[str, int]] = []
    for rule, ids in inference.matches:
        prefix, tactic, number = _named(rule)
        if prefix in ("candidate", "tactic"):
            playable.append((tactic, number))
        if prefix == "tactic":
            firing = Firing(rulebook.tactics[tactic], number, tuple([inference.facts[fact] for fact in ids]))
            fired.setdefault(tactic, []).append(firing)
        elif prefix == "unless":
            counters.setdefault(tactic, set()).add(number)
    by_tactic = {tactic: tuple(firings) for tactic, firings in fired.items()}
    return Firings(by_tactic, {tactic: tuple(sorted(of)) for tactic, of in counters.items()}, playable)


@cache
def _named(rule: str) -> tuple[str, str, int]:
    prefix, name, number = rule.split("/")
    return prefix, name, int(number)


Finding = tuple[str, str, str]
"""One fault: the rule id or the fact concerned, what is wrong, and what was expected."""


def lint(rules: Sequence[MatchRule]) -> Iterator[Finding]:
    """Yield whatever exceeds the engine's limits: first per rule, then for all distinct conjunctions together."""
    for rule in rules:
        for condition, times in Counter(rule.conditions).items():
            if times > 1:
                yield (rule.id, f"{condition.kind} {condition.name} occurs {times} times", "each condition once")
    uses = Counter(condition for each in conjunctions(rules) for condition in set(each.conditions))
    for condition, number in uses.items():
        if number > MAX_ON_ONE_PATH:
            where = f"{condition.kind} {condition.name}"
            yield (where, f"{number} rules with the same condition", f"at most {MAX_ON_ONE_PATH}")
    pending = Counter((condition.kind, condition.name) for condition in uses)
    for (kind, name), number in pending.items():
        if number > MAX_PENDING:
            yield (f"{kind} {name}", f"{number} different conditions", f"at most {MAX_PENDING}")
    for kind, number in Counter(kind for kind, _ in pending).items():
        if number > MAX_NAMES:
            yield (str(kind), f"{number} different names", f"at most {MAX_NAMES}")
