"""The recorded examples of the contract: a question, and the answer shortened to six digits."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.api.calculations.importance import importance_body
from tacticapi.api.calculations.points import ImportanceQuestionSchema, WinChanceQuestionSchema
from tacticapi.api.calculations.serve_mix import serve_mix_body
from tacticapi.api.calculations.serves import ServeMixQuestionSchema
from tacticapi.api.calculations.win_chance import win_chance_body
from tacticapi.api.shapes import Shape

DIGITS = 6


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
)
_CALCULATIONS: Mapping[str, tuple[type[Shape], Callable[[Any, Mapping[str, Any]], dict[str, Any]]]] = {
    "win-chance": (WinChanceQuestionSchema, win_chance_body),
    "importance": (ImportanceQuestionSchema, importance_body),
    "serve-mix": (ServeMixQuestionSchema, serve_mix_body),
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
    return round(node, DIGITS) + 0.0 if isinstance(node, float) else node
