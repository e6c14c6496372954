"""The score story: the chance of the match after each point, and the points that mattered most."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tacticapi.pricing.baseline import Baseline
from tacticapi.scoring import Format, MatchModel, Side, State, beta_nodes, place
from tacticapi.scoring.posterior import nodes_needed
from tacticapi.service.scorekeeping import Step


@dataclass(frozen=True, slots=True)
class StoryPoint:
    """One point as it was played; `winner` None marks a score that was set by hand.

    `score` is the one before it; `chance` the chance to win the match after it, `importance` what it was worth in
    the match (the chance if won less the chance if lost), both 0 to 1.
    """

    number: int
    set: int
    game: int
    score: Mapping[str, Any]
    server: Side | None
    winner: Side | None
    importance: float
    chance_before: float
    chance: float


class Chance:
    """The chance of the match from any score, at point chances that stay as they were on the day.

    Their uncertainty is averaged over: `base` are the posteriors of own points won on serve and on return.
    """

    def __init__(self, fmt: Format, base: Baseline) -> None:
        """Prepare one model for all scores of the match."""
        pairs = [(beta.a, beta.b) for beta in (base.serve, base.return_)]
        (serve, self._serve), (ret, self._return) = (beta_nodes(a, b, nodes_needed(a, b)) for a, b in pairs)
        self._model = MatchModel(fmt, serve.reshape(-1, 1), ret)
        self._known: dict[State, tuple[float, float]] = {}

    def at(self, state: State) -> tuple[float, float]:
        """(chance of the match, importance of the next point), both 0 to 1."""
        if state.winner is not None:
            return float(state.winner == "own"), 0.0
        if state not in self._known:
            match = self._model.at(state).match
            self._known[state] = (self._mean(match.now), self._mean(match.importance))
        return self._known[state]

    def _mean(self, chance: Any) -> float:
        return float(self._serve @ chance @ self._return)


def story(steps: Sequence[Step], fmt: Format, base: Baseline) -> tuple[StoryPoint, ...]:
    """Every entry of the match in order."""
    chance = Chance(fmt, base)
    told = []
    for number, step in enumerate(steps, 1):
        (before, importance), (set_number, game) = chance.at(step.before), place(step.before)
        told.append(
            StoryPoint(
                number=number,
                set=set_number,
                game=game,
                score=step.before.to_wire(),
                server=step.before.server,
                winner=step.winner,
                importance=importance if step.winner else 0.0,
                chance_before=before,
                chance=chance.at(step.after)[0],
            )
        )
    return tuple(told)


def most_important(told: Sequence[StoryPoint], most: int) -> tuple[StoryPoint, ...]:
    """The points that were worth most in the match, the most important first, earlier ones first among equals."""
    played = [point for point in told if point.winner is not None]
    return tuple(sorted(played, key=lambda point: (-round(point.importance, 9), point.number))[:most])
