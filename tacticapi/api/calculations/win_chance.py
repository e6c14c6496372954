"""The chance to win the match, set and game from a score, and what the next point makes of it."""

from collections.abc import Mapping
from typing import Any

from tacticapi.api.calculations.occasion import framed
from tacticapi.api.calculations.points import Points
from tacticapi.api.calculations.schemas import WinChanceSchema
from tacticapi.api.calculations.score_facts import next_point_body, score_sentence
from tacticapi.scoring import Chances, MatchModel, Outlook, expected, percentiles


def win_chance_body(asked: Points, defaults: Mapping[str, Any]) -> dict[str, Any]:
    """The answer, unrounded."""
    return framed(asked.occasion, WinChanceSchema, lambda: _calculated(asked, defaults), asked.told(defaults))


def _calculated(asked: Points, defaults: Mapping[str, Any]) -> dict[str, Any]:
    mean, low, high = _chances(asked, defaults)
    importance = {"game": mean.game.importance, "set": mean.set.importance, "match": mean.match.importance}
    return {
        "match": _interval(mean.match, low.match, high.match),
        "set": _interval(mean.set, low.set, high.set),
        "game": _interval(mean.game, low.game, high.game),
        "importance": importance,
        "if_won": {"match": mean.match.won, "set": mean.set.won, "game": mean.game.won},
        "if_lost": {"match": mean.match.lost, "set": mean.set.lost, "game": mean.game.lost},
        "score": score_sentence(asked.state, float(importance["match"])),
        "next_point": next_point_body(asked.state),
    }


def _chances(asked: Points, defaults: Mapping[str, Any]) -> tuple[Chances, Chances, Chances]:
    """Mean, 10th and 90th percentile of every chance; all three alike where nothing is uncertain."""
    fmt, state = asked.state.format, asked.state
    if asked.exact is not None or state.winner is not None:
        exact = MatchModel(fmt, *(asked.exact or (0.5, 0.5))).at(state).map(_within_0_and_1)
        return exact, exact, exact
    base = asked.believed(defaults)
    serve, ret = (base.serve.a, base.serve.b), (base.return_.a, base.return_.b)
    low, high = percentiles(fmt, state, serve, ret)
    return expected(fmt, state, serve, ret).map(_within_0_and_1), low, high


def _interval(mean: Outlook, low: Outlook, high: Outlook) -> dict[str, Any]:
    return {"chance": mean.now, "low": low.now, "high": high.now}


def _within_0_and_1(chance: Any) -> float:
    """A chance that arithmetic may have carried past 0 or 1 in the last digit."""
    return min(1.0, max(0.0, float(chance)))
