"""Which observations count at all, in which phase, and with what weight for their age."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Observation, Situation
from tacticapi.domain.terms import Moment, Phase, Way
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.scoring import ScoreError, State, games_since

BEFORE_GAMES = frozenset({Moment.BEFORE_MATCH, Moment.AFTER_WARM_UP})
WINDY = frozenset({"moderate", "strong"})
SUNNY = frozenset({"north", "south", "both"})


class Entry(NamedTuple):
    """An observation that counts, its phase, and its weight (0 to 1, halved every few games)."""

    observation: Observation
    phase: Phase
    weight: float


def read_entries(situation: Situation, rulebook: Rulebook, state: State | None) -> tuple[list[Entry], dict[int, str]]:
    """Split the posted observations into entries that count and refusals (place in the list to reason)."""
    entries: list[Entry] = []
    refused: dict[int, str] = {}
    clock = _Clock(situation, rulebook.defaults, state)
    for seen in situation.observations:
        kind = rulebook.kinds[seen.what]
        phase = _phase(kind, situation.moment)
        if phase is None:
            refused[seen.index] = _wrong_phase(kind)
        elif kind.needs_end and seen.end is None and phase is Phase.GAMES and _ends_differ(situation.context):
            refused[seen.index] = "no end: in wind or sun a count is only read together with the end it was taken at"
        elif seen.way is Way.COUNT and not seen.of:
            refused[seen.index] = "no chances seen"
        elif seen.way is not Way.TEXT or Way.SEEN in kind.ways:  # a text about a sign says that it was seen
            entries.append(Entry(seen, phase, clock.weight(seen) if phase is Phase.GAMES and kind.ages else 1.0))
    return entries, refused


def _phase(kind: ObservationKind, moment: Moment) -> Phase | None:
    if Phase.GAMES in kind.phases and moment not in BEFORE_GAMES:
        return Phase.GAMES
    if Phase.WARM_UP in kind.phases and moment is not Moment.BEFORE_MATCH:
        return Phase.WARM_UP
    return Phase.BEFORE if Phase.BEFORE in kind.phases else None


def _wrong_phase(kind: ObservationKind) -> str:
    shown = "the warm-up" if Phase.WARM_UP in kind.phases else "games"
    return f"wrong phase: this can only be seen in {shown}, which has not been played at this moment"


def _ends_differ(context: Mapping[str, Any]) -> bool:
    return context.get("wind") in WINDY or context.get("sun") in SUNNY


class _Clock:
    """Weighs a games observation by the games completed since."""

    def __init__(self, situation: Situation, defaults: Mapping[str, Any], state: State | None) -> None:
        self._state = state
        self._half_life = float(defaults["evidence"]["half_life_games"])
        self._games_in_a_set = int(defaults["evidence"]["games_in_a_set"])
        posted = {(o.set, o.game) for o in situation.observations if o.set or o.game}
        self._latest = 0 if state else max((self._counted(*dated) for dated in posted), default=0)
        self._weights: dict[tuple[int | None, int | None], float] = {}

    def weight(self, seen: Observation) -> float:
        """2^(-age/half-life); an undated observation, or one dated after the score, counts as of now."""
        if not (seen.set or seen.game):
            return 1.0
        dated = (seen.set, seen.game)
        if dated not in self._weights:
            self._weights[dated] = float(2.0 ** (-self._age(*dated) / self._half_life))
        return self._weights[dated]

    def _age(self, set_number: int | None, game: int | None) -> int:
        if self._state is None:
            return max(0, self._latest - self._counted(set_number, game))
        try:
            return games_since(self._state, set_number or len(self._state.sets) + 1, game)
        except ScoreError:
            return 0

    def _counted(self, set_number: int | None, game: int | None) -> int:
        """Games completed at the end of that game, if every earlier set had the usual number of games."""
        return ((set_number or 1) - 1) * self._games_in_a_set + (game or 0)
