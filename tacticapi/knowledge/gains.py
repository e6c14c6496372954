"""Checked entries ▶ gains from simulation, beside the tactics that they price."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from tacticapi.domain.rules import Fitted, Tactic, TraitKey
from tacticapi.domain.situation import Wing

Data = Mapping[str, Any]


def with_gains(tactics: Mapping[str, Tactic], gains: Mapping[str, Data]) -> dict[str, Tactic]:
    """The tactics with their fitted gains; `gains` by "tactic" or "tactic/wing"."""
    priced = dict(tactics)
    for name, data in gains.items():
        tactic, wing = named(name)
        if tactic in priced:
            effect = priced[tactic].effect
            fitted = {**effect.fitted, wing: _fitted(data)}
            priced[tactic] = replace(priced[tactic], effect=replace(effect, fitted=fitted))
    return priced


def named(name: str) -> TraitKey:
    """The two parts of "name" or "name/wing"."""
    first, _, wing = name.partition("/")
    return first, Wing(wing) if wing else None


def _fitted(data: Data) -> Fitted:
    return Fitted(
        base=float(data["base"]),
        open=float(data["open"]),
        beliefs={named(key): float(part) for key, part in data.get("beliefs", {}).items()},
        strokes={key: float(part) for key, part in data.get("strokes", {}).items()},
        same_handed=float(data.get("same_handed", 0.0)),
    )
