"""What circumstances look at, and the registry of the questions that are computed before matching."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from tacticapi.domain.situation import Situation
from tacticapi.inference.danger import Health
from tacticapi.scoring.score import NextPoint, State


@dataclass(frozen=True, slots=True)
class View:
    """Everything that circumstances look at. `importance` is that of the next point within its game, 0 to 1.

    `plan_losing` and `plan_winning` are the verdicts on the tactics tried; `play_changed` says whether a share of the
    opponent's play moved between games; `health` is what was posted of both players' health.
    """

    situation: Situation
    defaults: Mapping[str, Any]
    state: State | None = None
    point: NextPoint | None = None
    importance: float | None = None
    plan_losing: bool = False
    plan_winning: bool = False
    play_changed: bool = False
    health: Health = field(default_factory=Health)

    @property
    def games_ahead(self) -> int:
        """Own games minus the opponent's in this set; 0 without a score."""
        return self.state.games[0] - self.state.games[1] if self.state else 0

    @property
    def sets_ahead(self) -> int:
        """Own sets minus the opponent's; 0 without a score."""
        return self.state.sets_won[0] - self.state.sets_won[1] if self.state else 0

    @property
    def breaks_ahead(self) -> int:
        """Net breaks of serve in this set, exact when the server is known, else half the games' lead."""
        if self.state is None:
            return 0
        first = self.state.first_server_of_set
        if first is None:
            return int(self.games_ahead / 2)
        played = sum(self.state.games)
        own_served = (played + 1) // 2 if first == "own" else played // 2
        return self.state.games[0] - own_served

    def share(self, name: str) -> float:
        """A threshold of the score section of the defaults."""
        return float(self.defaults["score"][name])


Question = Callable[[View], bool]
COMPUTED: dict[str, Question] = {}
READS: dict[str, frozenset[str]] = {}
"""The observation kinds that a computed circumstance reads by itself."""


def circumstance(name: str, *reads: str) -> Callable[[Question], Question]:
    """Register the function as the answer to this circumstance, with the observation kinds that it reads."""

    def register(question: Question) -> Question:
        COMPUTED[name] = question
        READS[name] = frozenset(reads)
        return question

    return register
