"""The recorded examples of the contract: a question, and the answer shortened to six digits."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.api.calculations.court.bodies import court_position_body, gap_answer_body, shot_margin_body
from tacticapi.api.calculations.court.gap_body import GapQuestionSchema
from tacticapi.api.calculations.court.margin_body import ShotMarginQuestionSchema
from tacticapi.api.calculations.court.position_body import CourtPositionQuestionSchema
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
    return round(node, DIGITS) + 0.0 if isinstance(node, float) else node
