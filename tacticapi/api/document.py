"""The contract as it is published: the description with recorded requests and answers, as YAML."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, cast

import yaml
from flask import Flask

from tacticapi.advice import Adviser
from tacticapi.api.calculations import court_position_body, gap_answer_body, shot_margin_body
from tacticapi.api.calculations.court_position import CourtPositionQuestionSchema
from tacticapi.api.calculations.gap import GapQuestionSchema
from tacticapi.api.calculations.score import (
    ImportanceQuestionSchema,
    WinChanceQuestionSchema,
    importance_body,
    win_chance_body,
)
from tacticapi.api.calculations.serve_mix import ServeMixQuestionSchema, serve_mix_body
from tacticapi.api.calculations.shot_margin import ShotMarginQuestionSchema
from tacticapi.api.contract import EXTENSION, Contract
from tacticapi.api.http.fields import Shape
from tacticapi.api.situations import read_situation
from tacticapi.api.suggestions import advice_body
from tacticapi.domain.situation import Moment
from tacticapi.seeds import demo_situation

EXAMPLE_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Example:
    """A question that is posted to a calculation."""

    calculation: str
    name: str
    summary: str
    body: Mapping[str, Any]

    @property
    def path(self) -> str:
        """Where it is posted."""
        return f"/v1/calculations/{self.calculation}"


_EVENT = {"coaching": "permitted", "device": "coach"}
EXAMPLES = (
    Example(
        "win-chance",
        "exact",
        "Two servers of known strength before the first point",
        {"point_chances": {"own_serve": 0.65, "opponent_serve": 0.60}, "score": {"server": "own"}},
    ),
    Example(
        "win-chance",
        "played",
        "Points played, on a break point in the second set",
        {
            "moment": "between-points",
            "context": _EVENT,
            "score": {"sets": [[3, 6]], "games": [2, 1], "points": ["40", "30"], "server": "opponent"},
            "points_played": {"on_serve": {"won": 22, "of": 35}, "on_return": {"won": 13, "of": 33}},
            "level_gap": "stronger",
        },
    ),
    Example(
        "win-chance",
        "withheld",
        "During a match whose event permits no coaching",
        {
            "moment": "set-break",
            "context": {"coaching": "not-permitted"},
            "point_chances": {"own_serve": 0.65, "opponent_serve": 0.60},
        },
    ),
    Example(
        "importance",
        "game",
        "A service game in the first set",
        {
            "point_chances": {"own_serve": 0.62, "opponent_serve": 0.60},
            "score": {"games": [4, 4], "server": "own"},
        },
    ),
    Example(
        "serve-mix",
        "both-courts",
        "A first set of serves to a left-hander",
        {
            "courts": {
                "deuce": {
                    "spots": {"wide": {"won": 8, "of": 11}, "body": {"won": 3, "of": 7}, "T": {"won": 6, "of": 10}},
                    "leans": {"wide": 7, "T": 3},
                    "sequence": ["wide", "T", "wide", "T", "wide", "T", "body", "wide", "T", "wide", "T", "wide"],
                },
                "ad": {"spots": {"wide": {"won": 5, "of": 9}, "T": {"won": 7, "of": 12}}},
            },
            "receiver_handedness": "left",
            "seed": 7,
        },
    ),
    Example(
        "shot-margin",
        "wide-forehand",
        "A topspin ball across from a wide contact, with the spread of counted balls",
        {
            "contact": {"x": 3.5, "y": -12.5},
            "target": {"x": -2.6, "y": 9.9},
            "counts": {"in": 30, "net": 2, "long": 6, "wide": 3},
        },
    ),
    Example(
        "court-position",
        "from-the-corner",
        "Your opponent strikes in the corner of the singles court",
        {"ball": {"x": 4.115, "y": 11.885}},
    ),
    Example(
        "court-position",
        "smash",
        "A left-hander smashes moving back, lobbed over the backhand side",
        {"smash": {"hand": "left", "wing": "backhand", "across": {"count": 1, "of": 6}}},
    ),
    Example(
        "gap",
        "open-side",
        "Your opponent was drawn to your right; the left is open",
        {
            "contact": {"x": 1.0, "y": -12.2},
            "target": {"x": -3.1, "y": 10.4},
            "opponent": {"x": 2.5, "y": 12.9},
            "short_replies": {"count": 3, "of": 15},
        },
    ),
)
_CALCULATIONS: Mapping[str, tuple[type[Shape], Callable[[Any, Mapping[str, Any]], dict[str, Any]]]] = {
    "win-chance": (WinChanceQuestionSchema, win_chance_body),
    "importance": (ImportanceQuestionSchema, importance_body),
    "serve-mix": (ServeMixQuestionSchema, serve_mix_body),
    "shot-margin": (ShotMarginQuestionSchema, shot_margin_body),
    "court-position": (CourtPositionQuestionSchema, court_position_body),
    "gap": (GapQuestionSchema, gap_answer_body),
}


def recorded_answer(example: Example, defaults: Mapping[str, Any]) -> dict[str, Any]:
    """The answer to an example, shortened so that the last digits, which differ between machines, do not matter."""
    shape, calculate = _CALCULATIONS[example.calculation]
    shortened: dict[str, Any] = _shortened(calculate(shape().load(example.body), defaults))
    return shortened


def _shortened(node: Any) -> Any:
    if isinstance(node, dict):
        return {name: _shortened(below) for name, below in node.items()}
    if isinstance(node, list):
        return [_shortened(below) for below in node]
    return round(node, EXAMPLE_DIGITS) + 0.0 if isinstance(node, float) else node


EXAMPLE_ID = "00000000-0000-4000-8000-000000000000"
REGENERATE = "tacticapi openapi --write"
_WIDTH = 120
_SHORT = 100


def document(app: Flask, adviser: Adviser) -> dict[str, Any]:
    """The whole contract. The answers are those of this adviser to the situations of the demo."""
    contract = cast(Contract, app.extensions[EXTENSION])
    made = contract.described()
    operation = made["paths"]["/v1/suggestions"]["post"]
    requests, answers = {}, {}
    for moment in Moment:
        body = demo_situation(moment.value)
        advice = adviser.recommend(read_situation(body, adviser.rulebook))
        summary = f"The demo match, {moment.value.replace('-', ' ')}"
        requests[moment.value] = {"summary": summary, "value": body}
        answers[moment.value] = {"summary": summary, "value": advice_body(advice, EXAMPLE_ID)}
    operation["requestBody"]["content"]["application/json"]["examples"] = requests
    operation["responses"]["200"]["content"]["application/json"]["examples"] = answers
    for example in EXAMPLES:
        _record(made["paths"][example.path]["post"], example, recorded_answer(example, adviser.rulebook.defaults))
    plain: dict[str, Any] = json.loads(json.dumps(made))
    return plain


def _record(operation: dict[str, Any], example: Example, answer: dict[str, Any]) -> None:
    for holder, value in ((operation["requestBody"], example.body), (operation["responses"]["200"], answer)):
        examples = holder["content"]["application/json"].setdefault("examples", {})
        examples[example.name] = {"summary": example.summary, "value": value}


def yaml_text(made: dict[str, Any]) -> str:
    """The document as YAML: block style, short leaves on one line."""
    head = f"# Generated by `{REGENERATE}`; a test holds it equal to the application.\n"
    return head + yaml.dump(made, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=_WIDTH)


class _Dumper(yaml.SafeDumper):
    """Writes a short list or object of plain values on one line, long texts as blocks, and no anchors."""

    def ignore_aliases(self, data: Any) -> bool:
        return True

    def represent_sequence(self, tag: str, sequence: Any, flow_style: bool | None = None) -> yaml.SequenceNode:
        return super().represent_sequence(tag, sequence, _flat(list(sequence)))

    def represent_mapping(self, tag: str, mapping: Any, flow_style: bool | None = None) -> yaml.MappingNode:
        return super().represent_mapping(tag, mapping, _flat(list(dict(mapping).items())))


def _flat(items: list[Any]) -> bool:
    parts = [part for item in items for part in (item if isinstance(item, tuple) else (item,))]
    if any(isinstance(part, (dict, list)) and part for part in parts):
        return False
    return sum(len(str(part)) + 3 for part in parts) <= _SHORT or all(isinstance(item, str) for item in items)


def _text(dumper: yaml.SafeDumper, text: str) -> yaml.Node:
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style="|" if "\n" in text else None)


_Dumper.add_representer(str, _text)
