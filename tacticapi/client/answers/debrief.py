"""What a finished match, and all matches against one opponent, leave to learn."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tacticapi.client.answers.advice import RulebookRef
from tacticapi.client.answers.reading import Answer


@dataclass(frozen=True, kw_only=True)
class StoryPoint(Answer):
    """One entry of the score, and what it did to the chance of the match."""

    number: int
    set: int
    game: int
    score: Mapping[str, Any]
    server: str | None
    winner: str | None
    importance: float
    chance_before: float
    chance: float


@dataclass(frozen=True, kw_only=True)
class Share(Answer):
    """A share of few tries with its interval."""

    won: int
    of: int
    share: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, kw_only=True)
class TacticLine(Answer):
    """What became of one tactic."""

    tactic: str
    title: str
    suggested: int
    first: int
    used: int
    not_used: int
    reasons: tuple[str, ...]
    outcomes: tuple[str, ...]
    tries: Share
    worse: float | None
    enough: bool


@dataclass(frozen=True, kw_only=True)
class BeliefMove(Answer):
    """A belief before the match and after it."""

    trait: str
    wing: str | None
    title: str
    start: float
    end: float
    because: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class BeginWith(Answer):
    """What to begin with next time."""

    tactic: str
    title: str
    say: str
    because: tuple[str, ...]
    stop_when: str


@dataclass(frozen=True, kw_only=True)
class Debrief(Answer):
    """What a finished match leaves to learn."""

    match_id: str
    rulebook: RulebookRef
    own: str | None
    opponent: str | None
    started_at: datetime
    ended_at: datetime | None
    score: Mapping[str, Any] | None
    winner: str | None
    story: tuple[StoryPoint, ...]
    important: tuple[StoryPoint, ...]
    tactics: tuple[TacticLine, ...]
    beliefs: tuple[BeliefMove, ...]
    surprises: tuple[BeliefMove, ...]
    begin_with: tuple[BeginWith, ...]
    notice: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class DossierMatch(Answer):
    """A match that it rests on."""

    match_id: str
    started_at: datetime
    surface: str | None
    weight: float
    observations: int


@dataclass(frozen=True, kw_only=True)
class DossierBelief(Answer):
    """A belief over all matches."""

    trait: str
    wing: str | None
    title: str
    prior: float
    probability: float
    chances: float
    because: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Dossier(Answer):
    """What is believed of one opponent."""

    player_id: str
    rulebook: RulebookRef
    label: str
    surface: str | None
    matches: tuple[DossierMatch, ...]
    beliefs: tuple[DossierBelief, ...]
    playing: tuple[str, ...]
    notice: tuple[str, ...]
