"""What is kept of a club: players, matches and their entries."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tacticapi.client.answers.reading import Answer
from tacticapi.client.problems import Fault


@dataclass(frozen=True, kw_only=True)
class Player(Answer):
    """A player as kept."""

    id: str
    side: str
    label: str
    facts: Mapping[str, Any]
    version: int
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True, kw_only=True)
class MatchRecord(Answer):
    """A match as kept."""

    id: str
    own_id: str | None
    opponent_id: str | None
    context: Mapping[str, Any]
    own: Mapping[str, Any]
    opponent: Mapping[str, Any]
    first_server: str | None
    status: str
    started_at: datetime
    ended_at: datetime | None
    version: int
    created_at: datetime


@dataclass(frozen=True, kw_only=True)
class Score(Answer):
    """The score. What is absent or null is nil, an absent server unknown."""

    sets: tuple[tuple[int, ...], ...] | None
    games: tuple[int, ...] | None
    points: tuple[str, ...] | None
    server: str | None


@dataclass(frozen=True, kw_only=True)
class MatchScore(Answer):
    """The score that the kept points make, and the moment that the match is at by them."""

    score: Score | None
    moment: str
    revision: int


@dataclass(frozen=True, kw_only=True)
class Receipt(Answer):
    """What was added: its id, and its place in the match, which is also the match's revision.

    `noun` says among what (observations, points, tries) and `posted` what was posted, so that it can be corrected.
    """

    id: str
    sequence: int
    recorded_at: datetime
    noun: str = ""
    posted: Mapping[str, Any] | None = None


@dataclass(frozen=True, kw_only=True)
class Scored(Receipt):
    """What was added, the score after it (None: nothing stands), and who has won the match by it."""

    score: Score | None
    winner: str | None


@dataclass(frozen=True, kw_only=True)
class Entry(Receipt):
    """An entry as kept. `posted` is None where it takes back the one that it supersedes."""

    supersedes: str | None


@dataclass(frozen=True)
class Line:
    """What became of one of many: `receipt` where it was added, else `errors`. `number` counts from 1."""

    number: int
    receipt: Receipt | None
    errors: tuple[Fault, ...]


@dataclass(frozen=True, kw_only=True)
class Feedback(Answer):
    """Feedback as kept."""

    id: str
    advice_id: str
    tactic: str
    kind: str
    reason: str | None
    created_at: datetime


@dataclass(frozen=True, kw_only=True)
class Club(Answer):
    """A club."""

    id: str
    label: str
    keep_days: int | None
    keep_days_under_18: int | None
    version: int
    created_at: datetime
