"""Match facts against the rules and return all matches, whichever engine runs."""

import logging
import sys
from collections.abc import Sequence
from functools import cache
from itertools import count
from typing import Literal, Protocol

from tacticapi.domain.reasoning import Fact, Inference, MatchRule, RuleMatch
from tacticapi.domain.rules import FactKind, Rulebook
from tacticapi.rulebook.evaluator import evaluate
from tacticapi.rulebook.match_rules import EngineError, FiringBudgetExceeded, match_rules

EngineName = Literal["durable-rules", "evaluator"]

ENGINE_FITS = sys.version_info < (3, 13)  # the last release of durable-rules does not import on a newer Python
log = logging.getLogger(__name__)
_ruleset_numbers = count(1)


class _Engine(Protocol):
    def run(self, facts: Sequence[Fact]) -> tuple[RuleMatch, ...]: ...


class Matcher:
    """Matches facts on the rule engine (one per process for equal rules), or in plain Python if the engine fails."""

    def __init__(self, rulebook: Rulebook, engine: EngineName | None = None) -> None:
        self.rules = match_rules(rulebook)
        unconditional = [rule for rule in self.rules if not rule.conditions]
        self._always = [RuleMatch(rule.id, ()) for rule in unconditional]
        self._always_derived = sorted({rule.derives for rule in unconditional if rule.derives})
        self._derives = {rule.id: rule.derives for rule in self.rules if rule.derives}
        self._wanted = engine or ("durable-rules" if ENGINE_FITS else "evaluator")
        self._engine = _loaded(self.rules) if self._wanted == "durable-rules" else None
        self._failing = False

    @property
    def engine_name(self) -> EngineName:
        """Return the name of the engine that is tried first."""
        return "durable-rules" if self._engine else "evaluator"

    @property
    def healthy(self) -> bool:
        """Return True if the preferred engine is loaded and did not fail on the last request."""
        return self.engine_name == self._wanted and not self._failing

    def match(self, facts: Sequence[Fact]) -> Inference:
        """Return every match, sorted, and all facts by id, including derived circumstances. Raises TooManyMatches."""
        found, failure = self._by_engine(facts) if self._wanted == "durable-rules" else (None, None)
        engine = "evaluator" if found is None else "durable-rules"
        matches = evaluate(self.rules, facts) if found is None else found
        return Inference(matches, self._with_derived(facts, matches), engine, failure)

    def _by_engine(self, facts: Sequence[Fact]) -> tuple[tuple[RuleMatch, ...] | None, str | None]:
        if self._engine is None:
            return None, "not-loaded"
        given = _circumstances(facts) if self._always_derived else ()
        always = [Fact(f"d.{name}", FactKind.CIRCUMSTANCE, name) for name in self._always_derived if name not in given]
        try:
            fired = self._engine.run([*facts, *always])
        except Exception as error:
            self._failing = not isinstance(error, FiringBudgetExceeded)
            kind = error.kind if isinstance(error, EngineError) else "other"
            # the error's text may contain facts, which must not be logged
            log.warning("the rule engine failed; using the evaluator: %s", type(error).__name__, extra={"kind": kind})
            return None, kind
        self._failing = False
        return tuple(sorted([*fired, *self._always])), None

    def _with_derived(self, facts: Sequence[Fact], matches: Sequence[RuleMatch]) -> dict[str, Fact]:
        """Return the facts by id. A derived fact cites the observations behind all the facts that prove it."""
        by_id = {fact.id: fact for fact in facts}
        given = _circumstances(facts)
        proofs = [(name, match.facts) for match in matches if (name := self._derives.get(match.rule))]
        proofs = [(name, proof) for name, proof in proofs if name not in given]
        settled = False
        while not settled:
            settled = True
            for name, proof in proofs:
                places = {place for fact in proof if fact in by_id for place in by_id[fact].observations}
                before = by_id.get(f"d.{name}")
                if before is None or not places <= set(before.observations):
                    places.update(before.observations if before else ())
                    derived = Fact(f"d.{name}", FactKind.CIRCUMSTANCE, name, {}, tuple(sorted(places)))
                    by_id[derived.id] = derived
                    settled = False
        return by_id


def _circumstances(facts: Sequence[Fact]) -> set[str]:
    return {fact.name for fact in facts if fact.kind is FactKind.CIRCUMSTANCE}


def _loaded(rules: tuple[MatchRule, ...]) -> _Engine | None:
    try:
        return _compiled(rules)
    except Exception as error:
        log.warning("there is no rule engine; using the evaluator instead: %s: %s", type(error).__name__, error)
        return None


@cache
def _compiled(rules: tuple[MatchRule, ...]) -> _Engine:
    from tacticapi.rulebook.engine import Engine  # noqa: PLC0415  (the service also runs if this import fails)

    return Engine(rules, f"tactics-{next(_ruleset_numbers)}")
