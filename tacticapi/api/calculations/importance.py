"""How much each point of a game or tie-break matters."""

from collections.abc import Mapping
from typing import Any

from tacticapi.api.calculations.occasion import framed
from tacticapi.api.calculations.points import Points
from tacticapi.api.calculations.schemas import ImportanceTableSchema
from tacticapi.scoring import Importance, expected_importance, importance_table


def importance_body(asked: Points, defaults: Mapping[str, Any]) -> dict[str, Any]:
    """The answer, unrounded; of a decided match no points are listed."""
    return framed(asked.occasion, ImportanceTableSchema, lambda: _calculated(asked, defaults), asked.told(defaults))


def _calculated(asked: Points, defaults: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "server": asked.state.first_server_of_game,
        "tie_break": asked.state.in_tie_break,
        "items": [
            {"score": score, "game": float(of.game), "set": float(of.set), "match": float(of.match)}
            for score, of in _table(asked, defaults).items()
        ],
    }


def _table(asked: Points, defaults: Mapping[str, Any]) -> dict[str, Importance]:
    fmt, state = asked.state.format, asked.state
    if asked.exact is not None:
        return importance_table(fmt, state, *asked.exact)
    base = asked.believed(defaults)
    return expected_importance(fmt, state, (base.serve.a, base.serve.b), (base.return_.a, base.return_.b))
