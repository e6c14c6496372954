"""What is kept of a club: players, matches and their entries, the debrief of a match and the dossier of an opponent."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from tacticapi.client.advice import RulebookRef
from tacticapi.client.calls import Answer, read
from tacticapi.client.problems import Fault, fault_of

MAX_LINES, MAX_BYTES = 1_000, 500_000  # below the limits of the service: 2,000 lines and 1 MiB


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


def posts_of(seen: Iterable[Mapping[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    """The observations in posts of bounded size."""
    post: list[dict[str, Any]] = []
    size = 0
    for one in seen:
        body = {name: value for name, value in one.items() if value is not None}
        length = len(json.dumps(body, ensure_ascii=False).encode()) + 1
        if post and (len(post) == MAX_LINES or size + length > MAX_BYTES):
            yield post
            post, size = [], 0
        post.append(body)
        size += length
    if post:
        yield post


def lines_of(items: Iterable[Mapping[str, Any]], posts: Sequence[Mapping[str, Any]], *, before: int) -> Iterator[Line]:
    """Return what became of each line of `posts`; `before` counts the lines of earlier posts."""
    for item in items:
        number = int(item["line"])
        receipt = read(Receipt, item) if "id" in item else None
        if receipt is not None:
            receipt = replace(receipt, noun="observations", posted=posts[number - 1])
        errors = tuple(fault_of(error) for error in item.get("errors", ()))
        yield Line(before + number, receipt, errors)
