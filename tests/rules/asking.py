"""Asks the rulebook as a client would, and keeps the facts and matches behind the answer."""

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.advice.selection import wrong_moment
from tacticapi.api.situations import read_situation
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import Fact, Inference
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.rulebook.matcher import Matcher

from ..cases import Case, merge_patch

Request = Mapping[str, Any]


class _Remembering(Matcher):
    """A matcher that keeps its last answer."""

    last: Inference

    def match(self, facts: Sequence[Fact]) -> Inference:
        self.last = super().match(facts)
        return self.last


@dataclass(frozen=True, slots=True)
class Answer:
    """Advice with the situation read, the facts derived, and the rules matched."""

    advice: Advice
    situation: Situation
    inference: Inference
    rulebook: Rulebook

    @property
    def facts(self) -> list[Fact]:
        """Every fact, derived circumstances included."""
        return list(self.inference.facts.values())

    @property
    def shown(self) -> list[str]:
        """Tactics shown, safety first."""
        return [*(s.tactic for s in self.advice.safety), *(s.tactic for s in self.advice.suggestions)]

    def fired(self, tactic: str) -> bool:
        return any(match.rule.startswith(f"tactic/{tactic}/") for match in self.inference.matches)

    def held_because(self, tactic: str) -> str | None:
        return next((held.why for held in self.advice.held_back if held.tactic == tactic), None)

    def verdict(self, tactic: str) -> str:
        """suggested, a reason for holding back, no-match, or unsaid: no place was left, or nobody would expect it.

        A reminder at a moment that does not take it is not listed as held back; the reason is the moment all the same.
        """
        if tactic in self.shown:
            return "suggested"
        held = next((held for held in self.advice.held_back if held.tactic == tactic), None)
        if held is not None:
            return held.reason.value
        if not self.fired(tactic):
            return "no-match"
        of, rule = self.rulebook.tactics[tactic], self.rulebook.moments[self.advice.moment]
        return "moment" if wrong_moment(of, rule, self.rulebook.categories[of.category]) else "unsaid"


class Asker:
    """Answers requests in the form of the wire; the same request is answered once."""

    def __init__(self, rulebook: Rulebook) -> None:
        self.rulebook = rulebook
        self._matcher = _Remembering(rulebook)
        self._adviser = Adviser(rulebook, self._matcher)
        self._answers: dict[str, Answer] = {}

    def ask(self, request: Request, limit: int | None = 10) -> Answer:
        """Answer one request; `limit` as on the wire, None for the limit of the moment."""
        body = dict(request) if limit is None else {**request, "limit": limit}
        key = json.dumps(body, sort_keys=True)
        if key not in self._answers:
            situation = read_situation(body, self.rulebook)
            advice = self._adviser.recommend(situation)
            self._answers[key] = Answer(advice, situation, self._matcher.last, self.rulebook)
        return self._answers[key]


def hold(asker: Asker, case: Case) -> None:
    """Assert that a tactic speaks and keeps silent as its case says, and that the near miss changes one fact."""
    _verdict(asker, case, case.suggested, "suggested")
    if case.near_miss is not None:
        near = merge_patch(case.suggested, case.near_miss)
        assert len(changed_facts(case.suggested, near)) == 1, "a near miss changes one fact"
        _verdict(asker, case, near, case.near_miss_why)
    if case.not_suggested is not None:
        assert asker.ask(case.not_suggested).verdict(case.tactic) != "suggested"


def _verdict(asker: Asker, case: Case, request: Request, expected: str | None) -> None:
    found = asker.ask(request).verdict(case.tactic)
    assert found == expected, (
        f"{case.tactic}: {found}, not {expected}; save this request as request.json, then `tacticapi rules explain "
        f"{case.tactic} request.json` says why:\n{_text(request)}"
    )


OBJECTS = ("context", "own", "opponent", "score", "points_played")
LISTS = ("observations", "tries")


def changed_facts(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """Return the places of the facts that differ; an entry that was altered counts once.

    A fact is one item of context, own or opponent, one part of the score, one entry of a list of observations or tries,
    the points of one serving side, the count of own errors, or the moment.
    """
    told, tells = _facts(before), _facts(after)
    changed = [place for place in sorted(told.keys() | tells.keys()) if told.get(place) != tells.get(place)]
    for name in LISTS:
        old, new = _entries(before, name), _entries(after, name)
        changed += [name] * max((old - new).total(), (new - old).total())
    return changed


def _facts(request: Mapping[str, Any]) -> dict[str, str]:
    facts: dict[str, str] = {}
    for name, value in request.items():
        if name in OBJECTS:
            facts |= {f"{name}/{item}": _text(said) for item, said in value.items()}
        elif name not in LISTS:
            facts[name] = _text(value)
    return facts


def _entries(request: Mapping[str, Any], name: str) -> Counter[str]:
    return Counter(_text(entry) for entry in request.get(name, ()))


def _text(value: Any) -> str:
    return json.dumps(value, sort_keys=True)
