"""A trace ▶ the JSON of the answer."""

from typing import Any

from tacticapi.advice import Trace
from tacticapi.api.suggestions.presenter import advice_body
from tacticapi.domain.firing import Fact, Match


def explanation_body(trace: Trace, advice_id: str) -> dict[str, Any]:
    """The advice, then everything behind it."""
    return {
        **advice_body(trace.advice, advice_id),
        "engine": trace.inference.engine,
        "facts": [_fact(fact) for fact in trace.facts],
        "fired": [_fired(match, trace) for match in trace.inference.matches],
        "why": [
            {
                "tactic": question.tactic,
                "verdict": question.verdict,
                "why": question.why,
                "unmet": list(question.unmet),
                "chain": list(question.chain),
            }
            for question in trace.questions
        ],
    }


def _fact(fact: Fact) -> dict[str, Any]:
    return {
        "id": fact.id,
        "kind": fact.kind.value,
        "name": fact.name,
        "fields": dict(fact.fields),
        "observations": list(fact.observations),
    }


def _fired(match: Match, trace: Trace) -> dict[str, Any]:
    return {"rule": match.rule, "facts": list(match.facts), "derives": trace.rules[match.rule].derives}
