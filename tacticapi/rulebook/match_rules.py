"""Turn the rulebook into match rules, and matched rules back into the tactics that they belong to.

The engine holds positive conjunctions only: equality, at least, at most. A condition of the same wing becomes one
conjunction a wing, since a join on a field that a fact may lack is an error to the engine. What both matchers share
is here too: the engine's limits, and the reasons for which it may not answer.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import count

from tacticapi.domain.reasoning import Firing, Firings, Inference, MatchRule
from tacticapi.domain.rules import Condition, FactKind, Op, Rulebook, Tactic, Test
from tacticapi.domain.situation import Wing

WINGED = (FactKind.BELIEF, FactKind.OBSERVED)
"""The kinds of facts that can carry a wing."""
# Measured limits of the engine: beyond them it refuses a rule, loses facts, hangs or crashes. The schema of conditions
# keeps the one of 8 conditions a rule.
MAX_PENDING = 64  # distinct conditions that one fact may satisfy
MAX_ON_ONE_PATH = 250  # conjunctions that use one identical condition
MAX_NAMES = 500  # names a kind of facts
MAX_NUMBER = 2**31 - 1
"""The largest whole number that the engine takes."""


class EngineError(RuntimeError):
    """The engine gave no complete answer to this request."""


class Truncated(EngineError):
    """The engine lost a part of the facts, so its answer would have been a partial one."""


class Retired(EngineError):
    """A session of this engine could not be cleaned up, so it answers no more."""


class FiringBudgetExceeded(EngineError):
    """The request would fire more rules than one request may on the engine."""


KINDS = ("truncated", "firing-budget", "retired", "not-loaded", "other")
"""What `kind_of` tells apart; "not-loaded" is an engine that could not be used from the start."""

_KINDS: dict[type[Exception], str] = {Truncated: "truncated", FiringBudgetExceeded: "firing-budget", Retired: "retired"}


def kind_of(error: Exception) -> str:
    """Return the kind of an engine's failure, one of KINDS."""
    return _KINDS.get(type(error), "other")


@dataclass(frozen=True, slots=True)
class Conjunction:
    """One distinct conjunction of the engine, with the rules that it represents."""

    name: str
    conditions: tuple[Condition, ...]
    rules: tuple[MatchRule, ...]


def match_rules(rulebook: Rulebook) -> tuple[MatchRule, ...]:
    """Return all rules of a rulebook, numbered from 0 in the order of the file.

    `tactic/<id>/<n>` an alternative; `candidate/<id>/<n>` the same without its beliefs, if that differs;
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
    """Return the conditions that remain when nothing is believed yet; a wing that no other one sets is then free."""
    rest = [condition for condition in conditions if condition.kind is not FactKind.BELIEF]
    if wing_anchor(tuple(rest)) is None:
        tied = next((place for place, condition in enumerate(rest) if condition.same_wing), None)
        if tied is not None:
            rest[tied] = replace(rest[tied], same_wing=False)
    return tuple(rest)


def wing_anchor(conditions: tuple[Condition, ...]) -> int | None:
    """Return the place of the condition that sets the wing for those of the same wing: the first that can carry one."""
    free = (place for place, c in enumerate(conditions) if c.kind in WINGED and not c.same_wing)
    return next(free, None)


def conjunctions(rules: Sequence[MatchRule]) -> tuple[Conjunction, ...]:
    """Return the distinct conjunctions behind the rules. Rules without conditions need no engine and have none."""
    served: dict[tuple[Condition, ...], list[MatchRule]] = {}
    for rule in rules:
        for conditions in _by_wing(rule.conditions):
            served.setdefault(conditions, []).append(rule)
    numbers = count()
    return tuple(Conjunction(f"r{next(numbers)}", conditions, tuple(of)) for conditions, of in served.items())


def _by_wing(conditions: tuple[Condition, ...]) -> Iterator[tuple[Condition, ...]]:
    """Yield the conditions without ties: as they are, or once a wing; nothing if the wing is never set."""
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
    """Group the matches by tactic: firings of its alternatives, and its counter-indications that hold."""
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
"""One fault: the rule id or the fact it is about, what is wrong, and what was expected."""


def lint(rules: Sequence[MatchRule]) -> Iterator[Finding]:
    """Yield what the engine cannot bear: rule by rule, then counted on the distinct conjunctions that it will hold."""
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
