"""The rule engine behind a narrow door: small flat facts in, (rule, matched facts) out.

durable-rules is a sound matcher of positive conjunctions and unsafe in most other uses: its own threads, a
session in which nothing fired, a value that it cannot parse. So its host starts no thread, every request uses
the one session under a lock, every wave of facts ends with a sentinel that must fire, and the session is deleted
before the next request.
"""

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from threading import Lock

import durable_rules_engine as native
from durable.engine import Host

from tacticapi.domain.reasoning import Fact, Match, MatchRule
from tacticapi.domain.rules import FactKind
from tacticapi.inference.admission import Admission
from tacticapi.inference.compile import SENTINEL_FACT, SENTINEL_RULE, conjunctions, ruleset
from tacticapi.inference.failures import EngineError, FiringBudgetExceeded, Retired, Truncated

MAX_FIRINGS = 10_000
"""Firings that one request may cause, about 0.1 s of work: a bound on what one request can cost."""

_SESSION = "s"
_ID_KNOWN_ALREADY = 2  # the engine's result code

_Payload = Mapping[str, int | str]


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
        held = conjunctions(rules)
        self._rules = {conjunction.name: conjunction.rules for conjunction in held}
        self._admission = Admission(held)
        self._lock = Lock()
        self._retired = False
        definition = {rule: {**body, "run": lambda closure: None} for rule, body in ruleset(rules).items()}
        self._handle: int = _QuietHost({name: definition}).get_ruleset(name)._handle
        self.run(())

    def run(self, facts: Sequence[Fact]) -> tuple[Match, ...]:
        """All matches of the rules with conditions, in no promised order.

        A derived circumstance is matched as the fact `d.<name>`. Raises Truncated, FiringBudgetExceeded,
        Retired, or what the engine itself raises; never returns a partial answer.
        """
        with self._lock:
            if self._retired:
                raise Retired(self.name)
            self._retired = True  # until the session is gone again
            session = _Session(self._handle, self.max_firings)
            session.open()
            try:
                return self._matches(session, facts)
            finally:
                session.delete()
                self._retired = False

    def _matches(self, session: "_Session", facts: Sequence[Fact]) -> tuple[Match, ...]:
        circumstances = {fact.name for fact in facts if fact.kind is FactKind.CIRCUMSTANCE}
        matches: list[Match] = []
        admitted: list[Fact] = []
        counts: Counter[int] = Counter()
        wave: Sequence[Fact] = facts
        while wave:
            payloads = self._admitted(wave, admitted, counts)
            derived: set[str] = set()
            for name, numbers in session.wave(payloads):
                ids = tuple([admitted[number].id for number in numbers])
                for rule in self._rules[name]:
                    matches.append(Match(rule.id, ids))
                    if rule.derives:
                        derived.add(rule.derives)
            fresh = derived - circumstances
            wave = [Fact(f"d.{name}", FactKind.CIRCUMSTANCE, name) for name in sorted(fresh)]
            circumstances |= fresh
        return tuple(matches)

    def _admitted(self, wave: Iterable[Fact], admitted: list[Fact], counts: Counter[int]) -> list[_Payload]:
        payloads: list[_Payload] = []
        for fact in wave:
            satisfied = self._admission.satisfied(fact)
            if satisfied:
                payloads.append({"id": f"f{len(admitted)}", **self._admission.payload(fact)})
                admitted.append(fact)
                counts.update(satisfied)
        if self._admission.firings(counts) > self.max_firings:
            raise FiringBudgetExceeded(f"more than {self.max_firings} firings to come")
        return payloads


class _Session:
    """The session of one request. Deleting it is safe only once a rule has fired in it: see `open`."""

    def __init__(self, handle: int, max_firings: int) -> None:
        self._handle = handle
        self._firings_left = max_firings
        self._waves = 0

    def open(self) -> None:
        """Fires the sentinel once, so that the session can be deleted whatever comes after."""
        self.wave([])

    def wave(self, payloads: Sequence[_Payload]) -> list[tuple[str, list[int]]]:
        """Asserts the facts and a sentinel; returns each conjunction that fired with the numbers of its facts."""
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
            if rule != SENTINEL_RULE:
                self._firings_left -= 1
            if self._firings_left < 0:
                raise FiringBudgetExceeded("no firings left")
            yield rule, [int(matched[f"c{place}"]["id"][1:]) for place in range(len(matched))]
            text = native.complete_and_start_action(self._handle, state)

    def delete(self) -> None:
        """Forgets all facts of the request."""
        native.delete_state(self._handle, _SESSION)
