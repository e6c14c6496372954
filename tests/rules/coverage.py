"""What the cases of a rulebook exercise: which alternatives fire, which conditions are seen to hold and not to hold.

Conditions count as the rule files state them: one with a list under `is` or `value` holds where any of its options
does. Only the requests of a tactic's own cases count for it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tacticapi.domain.reasoning import Fact
from tacticapi.domain.rules import Condition, Gate
from tacticapi.domain.situation import Situation
from tacticapi.rulebook.entries import Entries
from tacticapi.rulebook.evaluator import nearest_miss
from tacticapi.rulebook.expansion import expanded


@dataclass(frozen=True, slots=True)
class Part:
    """One thing to be exercised: a condition, a whole alternative, a gate or a whole counter-indication.

    `place` is where it stands in the tactic, as in "when/0/all/1"; `conjunctions` are the ways in which it can hold.
    """

    tactic: str
    place: str
    conjunctions: tuple[tuple[Condition, ...], ...] = ()
    gate: int | None = None


@dataclass(slots=True)
class Coverage:
    """Each part with whether it was seen to hold and seen not to hold."""

    held: set[Part] = field(default_factory=set)
    failed: set[Part] = field(default_factory=set)

    def missing(self, parts: Sequence[Part]) -> list[str]:
        """What was never seen, in words."""
        lines = [f"{part.tactic} {part.place}: never holds" for part in parts if part not in self.held]
        return lines + [f"{part.tactic} {part.place}: never fails" for part in parts if part not in self.failed]

    def share(self, parts: Sequence[Part]) -> float:
        """Share of what should be seen that was seen, 0 to 1."""
        return 1 - len(self.missing(parts)) / (2 * len(parts))


def parts(entries: Entries, levels: Mapping[str, float]) -> list[Part]:
    """Everything to be exercised, in file order."""
    return [
        part
        for name, entry in entries.of("tactics").items()
        for part in (*_conjunctions(name, entry.data, levels), *_gates(name, entry.data))
    ]


def _conjunctions(name: str, data: Mapping[str, Any], levels: Mapping[str, float]) -> Iterator[Part]:
    for section in ("when", "unless"):
        for n, alternative in enumerate(data.get(section, ())):
            yield Part(name, f"{section}/{n}", tuple(expanded(alternative["all"], levels)))
            for m, condition in enumerate(alternative["all"]):
                yield Part(name, f"{section}/{n}/all/{m}", tuple(expanded([condition], levels)))


def _gates(name: str, data: Mapping[str, Any]) -> Iterator[Part]:
    for n, _ in enumerate(data.get("needs", ())):
        yield Part(name, f"needs/{n}", gate=n)


def exercise(
    coverage: Coverage, part: Part, facts: Sequence[Fact], situation: Situation, gates: Sequence[Gate]
) -> None:
    """Note whether the part holds in a situation with these facts."""
    if part.gate is not None:
        holds = _gate_is_met(gates[part.gate], situation)
    else:
        holds = any(not nearest_miss(conditions, facts) for conditions in part.conjunctions)
    (coverage.held if holds else coverage.failed).add(part)


def _gate_is_met(gate: Gate, situation: Situation) -> bool:
    ratings = (situation.own.get(key) for key in gate.keys)
    return any(isinstance(rating, int) and rating >= gate.at_least for rating in ratings)
