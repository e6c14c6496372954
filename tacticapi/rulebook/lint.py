"""Find what a rulebook must not ask of the matcher: more than the engine bears, circumstances that nobody derives."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tacticapi.domain.reasoning import MatchRule
from tacticapi.domain.rules import Rulebook
from tacticapi.rulebook.circumstances import COMPUTED
from tacticapi.rulebook.danger import sign_circumstance
from tacticapi.rulebook.match_rules import conjunctions

# Measured limits of the engine: beyond them it refuses a rule, loses facts, hangs or crashes.
MAX_PATTERNS = 8  # conditions a rule
MAX_PENDING = 64  # distinct conditions that one fact may satisfy
MAX_ON_ONE_PATH = 250  # conjunctions that use one identical condition
MAX_NAMES = 500  # names a kind of facts


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault: the rule id or the fact it is about, what is wrong, and what was expected."""

    where: str
    what: str
    expected: str


def lint(rules: Sequence[MatchRule], rulebook: Rulebook) -> list[Finding]:
    """Return all faults of the rules, rule by rule, then those of the rules together."""
    return [*(finding for rule in rules for finding in _rule(rule)), *_load(rules), *_circumstances(rulebook)]


def _rule(rule: MatchRule) -> Iterator[Finding]:
    if len(rule.conditions) > MAX_PATTERNS:
        yield Finding(rule.id, f"{len(rule.conditions)} conditions", f"at most {MAX_PATTERNS}")
    for condition, times in Counter(rule.conditions).items():
        if times > 1:
            yield Finding(rule.id, f"{condition.kind} {condition.name} occurs {times} times", "each condition once")


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


def _circumstances(rulebook: Rulebook) -> Iterator[Finding]:
    derived = {name for name, circumstance in rulebook.circumstances.items() if circumstance.when}
    computed = COMPUTED.keys() | {sign_circumstance(sign.id) for sign in rulebook.danger.signs}
    for name in sorted(rulebook.circumstances.keys() - derived - computed):
        yield Finding(f"circumstance {name}", "neither derived nor computed", "conditions, or a computation")
    for name in sorted(derived & computed):
        yield Finding(f"circumstance {name}", "both derived and computed", "one of the two")
