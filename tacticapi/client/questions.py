"""What is posted, as typed dictionaries: a type checker and an editor know the names, nothing is converted."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Literal, TypedDict

Side = Literal["own", "opponent"]
MomentName = Literal["before-match", "after-warm-up", "between-points", "change-of-ends", "set-break", "after-match"]
CourtQuestion = Literal["court-position", "gap", "shot-margin"]
FeedbackKind = Literal["used", "not-used", "outcome"]


class Qualifiers(TypedDict, total=False):
    """Where, when and by whom something was seen, and every way of saying it but a count."""

    counts: Mapping[str, int] | None
    rating: int | None
    value: str | None
    amount: float | None
    seen: bool | None
    wing: Literal["forehand", "backhand"] | None
    court: Literal["deuce", "ad"] | None
    serve: Literal["first", "second"] | None
    end: str | None
    set: int | None
    game: int | None
    by: str | None
    note: str | None
    ref: str | None


class Seen(Qualifiers, total=False):
    """One thing seen; `what` is an id of the vocabulary."""

    what: str
    count: int | None
    of: int | None


class ScoreNow(TypedDict, total=False):
    """A score. Pairs are [own, opponent]; what is absent is nil, an absent server unknown."""

    sets: Sequence[Sequence[int]]
    games: Sequence[int]
    points: Sequence[str]
    server: Side | None


class WonOf(TypedDict):
    """Points won out of points played."""

    won: int
    of: int


class PointsPlayed(TypedDict, total=False):
    """Own points by who served."""

    on_serve: WonOf
    on_return: WonOf


class PointChances(TypedDict):
    """How likely each server wins a point, 0 to 1."""

    own_serve: float
    opponent_serve: float


class Occasion(TypedDict, total=False):
    """When a calculation is asked for, and what the event permits."""

    moment: MomentName
    context: Mapping[str, Any]


class ScoreQuestion(Occasion, total=False):
    """A score, and exactly one of point_chances and points_played."""

    format: Mapping[str, Any]
    score: ScoreNow
    point_chances: PointChances
    points_played: PointsPlayed
    level_gap: Literal["much-weaker", "weaker", "level", "stronger", "much-stronger"]


class ServesQuestion(Occasion, total=False):
    """What is known beside the serves that were counted."""

    server: Side
    receiver_handedness: Literal["right", "left", "both"]
    seed: int


class MatchFacts(TypedDict, total=False):
    """What is known of a match. Absent: unknown, in a change as it was. Each object replaces the one before."""

    context: Mapping[str, Any]
    own_facts: Mapping[str, Any]
    opponent_facts: Mapping[str, Any]
    first_server: Side
    started_at: datetime
