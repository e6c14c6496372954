"""A tactic ▶ the JSON that is served."""

from collections.abc import Iterable
from typing import Any

from tacticapi.advice.words import condition_words, source_lines
from tacticapi.api.suggestions.presenter import source_body
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.tactic import Condition, Effect, Tactic


def tactic_body(tactic: Tactic, rulebook: Rulebook) -> dict[str, Any]:
    """One tactic with its conditions in words."""

    def words(conditions: Iterable[Condition]) -> list[str]:
        return [condition_words(condition, rulebook) for condition in conditions]

    return {
        "id": tactic.id,
        "category": tactic.category,
        "title": tactic.title,
        "say": tactic.say,
        "why": tactic.why,
        "when": [{"all": words(each.conditions), "scale": each.scale, "say": each.say} for each in tactic.when],
        "needs": [{"any_of": list(gate.keys), "at_least": gate.at_least} for gate in tactic.needs],
        "unless": [{"all": words(counter.conditions), "why": counter.why} for counter in tactic.unless],
        "not_if": tactic.not_if,
        "stop_when": tactic.stop_when,
        "show": tactic.show.value,
        "risk": tactic.risk,
        "effect": _effect(tactic.effect),
        "authority": tactic.authority,
        "relations": [{"kind": r.kind.value, "to": r.to, "settled": r.settled} for r in tactic.relations],
        "sources": [source_body(line) for line in source_lines(tactic, rulebook)],
        "caution": tactic.caution,
        "moments": [moment.value for moment in tactic.moments],
        "targets": tactic.targets,
        "alone": tactic.alone,
        "coaches_differ": tactic.coaches_differ,
        "deprecated": tactic.deprecated,
        "house": tactic.house,
    }


def statuses(tactic: Tactic, rulebook: Rulebook) -> set[str]:
    """The statuses of its sources, or common practice."""
    return {line.status for line in source_lines(tactic, rulebook)}


def _effect(effect: Effect) -> dict[str, Any]:
    return {
        "on": effect.on.value,
        "share": effect.share,
        "gain": effect.gain,
        "loss": effect.loss,
        "cause": effect.cause,
        "note": effect.note,
    }
