"""Define the input: who plays, where, what was seen, the score and what was tried, with the closed lists of words."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum
from itertools import takewhile
from typing import Any

from tacticapi.domain import many


class Moment(StrEnum):
    """The moment at which advice is requested."""

    BEFORE_MATCH = "before-match"
    AFTER_WARM_UP = "after-warm-up"
    BETWEEN_POINTS = "between-points"
    CHANGE_OF_ENDS = "change-of-ends"
    SET_BREAK = "set-break"
    AFTER_MATCH = "after-match"


class Phase(StrEnum):
    """The phase in which something can be observed."""

    BEFORE = "before"
    WARM_UP = "warm-up"
    GAMES = "games"


class Way(StrEnum):
    """The form of an observation."""

    COUNT = "count"
    COUNTS = "counts"
    RATING = "rating"
    VALUE = "value"
    AMOUNT = "amount"
    SEEN = "seen"
    TEXT = "text"


class Wing(StrEnum):
    """A player's stroke side, never left or right, so that left-handers need no special cases."""

    FOREHAND = "forehand"
    BACKHAND = "backhand"

    @property
    def other(self) -> "Wing":
        """Return the opposite wing."""
        return Wing.BACKHAND if self is Wing.FOREHAND else Wing.FOREHAND


class Coaching(StrEnum):
    """When the event permits coaching."""

    PERMITTED = "permitted"
    CHANGE_OF_ENDS_AND_SET_BREAK = "change-of-ends-and-set-break"
    SET_BREAK = "set-break"
    NOT_PERMITTED = "not-permitted"
    UNKNOWN = "unknown"


class Device(StrEnum):
    """Who may consult a device."""

    PLAYER = "player"
    COACH = "coach"
    NOBODY = "nobody"
    UNKNOWN = "unknown"


class Show(StrEnum):
    """A tactic's rank group: care and law come first, then lines due now, then gains, then reminders."""

    FIRST = "first"
    DUE = "due"
    GAIN = "gain"
    REMINDER = "reminder"


class HeldBack(StrEnum):
    """Why a tactic that matched the evidence is not suggested."""

    OWN_ABILITY = "own-ability"
    CONFLICT = "conflict"
    COUNTER_INDICATION = "counter-indication"
    MOMENT = "moment"
    COACHING = "coaching"
    DEVICE = "device"


class Verdict(StrEnum):
    """The verdict on the tactic being played now."""

    KEEP = "keep"
    ADJUST = "adjust"
    CHANGE = "change"


Game = tuple[int, int]
"""A set, and a game in that set, both counted from 1."""


@many
class Observation:
    """One observation, at `index` in the posted list: `what` was seen, in which form (`way`), and its qualifiers.

    `end` is the observer's own end at the time, north or south.
    """

    index: int
    what: str
    way: Way
    count: float | None = None
    of: float | None = None
    counts: Mapping[str, float] | None = None
    rating: float | None = None
    value: str | None = None
    amount: float | None = None
    seen: bool | None = None
    wing: Wing | None = None
    court: str | None = None
    serve: str | None = None
    end: str | None = None
    set: int | None = None
    game: int | None = None
    by: str | None = None
    note: str | None = None
    ref: str | None = None


MAX_TRIED = 2_000
"""The maximum tries of one tactic in a match: at most one per point, and no match has nearly that many points."""


@dataclass(frozen=True, slots=True)
class Tries:
    """Points on which a tactic was tried as intended, and those won (0 <= won <= tried); 0 tries means only chosen."""

    tactic: str
    tried: int
    won: int
    set: int | None = None
    game: int | None = None
    on: str | None = None

    @property
    def played_in(self) -> Game | None:
        """Return the set and game; None if no game was posted."""
        return None if self.game is None else (self.set or 1, self.game)


def summed(tries: Iterable[Tries]) -> dict[str, Tries]:
    """Return one entry per tactic, without games, in the order in which the tactics first appear."""
    found: dict[str, Tries] = {}
    for one in tries:
        before = found.get(one.tactic, Tries(one.tactic, 0, 0))
        found[one.tactic] = Tries(one.tactic, before.tried + one.tried, before.won + one.won)
    return found


def tries_since(tries: Iterable[Tries], change: Game | None, switch: Game | None = None) -> tuple[Tries, ...]:
    """Return the tries since their last change of play and our own switch; undated tries count as earlier."""
    start = max(change or (0, 0), switch or (0, 0))
    return tuple(one for one in tries if (change is None if one.played_in is None else one.played_in >= start))


@dataclass(frozen=True, slots=True)
class Chosen:
    """The tactic being played, and the game in which we switched to it; None if unknown."""

    tactic: str
    since: Game | None = None


@dataclass(frozen=True, slots=True)
class PointsPlayed:
    """Points that we won and points played, on serve and on return; `by_game` lists them for each game, if known."""

    serve_won: int = 0
    serve_of: int = 0
    return_won: int = 0
    return_of: int = 0
    by_game: "tuple[tuple[Game, PointsPlayed], ...]" = ()

    def __add__(self, more: "PointsPlayed") -> "PointsPlayed":
        return PointsPlayed(
            self.serve_won + more.serve_won,
            self.serve_of + more.serve_of,
            self.return_won + more.return_won,
            self.return_of + more.return_of,
        )

    def since(self, game: Game) -> "PointsPlayed":
        """Return the points from this game on, or all points if no games are known."""
        return sum((one for at, one in self.by_game if at >= game), PointsPlayed()) if self.by_game else self


@dataclass(frozen=True, slots=True)
class OwnErrors:
    """Our unforced errors among the points lost (0 <= unforced <= of); `by_game` lists them for each game, if known."""

    unforced: int
    of: int
    by_game: "tuple[tuple[Game, OwnErrors], ...]" = ()

    def __add__(self, more: "OwnErrors") -> "OwnErrors":
        return OwnErrors(self.unforced + more.unforced, self.of + more.of)

    def since(self, game: Game) -> "OwnErrors":
        """Return the errors from this game on, or all errors if no games are known."""
        return sum((one for at, one in self.by_game if at >= game), OwnErrors(0, 0)) if self.by_game else self


@dataclass(frozen=True, slots=True)
class Previous:
    """The previous advice, as the client kept it; `beliefs` holds the beliefs that it listed, None if unknown."""

    advice_id: str | None = None
    first: str | None = None
    beliefs: Mapping[str, float] | None = None


@dataclass(frozen=True, slots=True)
class Earlier:
    """An earlier match against the same opponent: its date (UTC), surface, weight (0 to 1) and observations of play."""

    day: date
    surface: str | None = None
    weight: float = 1.0
    seen: tuple[Observation, ...] = ()


@dataclass(frozen=True, slots=True)
class Situation:
    """Everything known when advice is requested. Facts are keyed by the part after the dot; own comes before opponent.

    A missing key means unknown. The score has been checked. `earlier` lists the newest match first.
    """

    moment: Moment
    context: Mapping[str, Any] = field(default_factory=dict)
    own: Mapping[str, Any] = field(default_factory=dict)
    opponent: Mapping[str, Any] = field(default_factory=dict)
    observations: tuple[Observation, ...] = ()
    score: Mapping[str, Any] | None = None
    points_played: PointsPlayed | None = None
    own_errors: OwnErrors | None = None
    tries: tuple[Tries, ...] = ()
    plan: Chosen | None = None
    limit: int | None = None
    minutes_left: float | None = None
    previous: Previous | None = None
    earlier: tuple[Earlier, ...] = ()
    opponent_id: str | None = None
    coaching: Coaching = field(init=False)
    device: Device = field(init=False)
    ages: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        bands = (self.own.get("age_band"), self.opponent.get("age_band"), self.context.get("age_band"))
        object.__setattr__(self, "coaching", Coaching(self.context.get("coaching") or Coaching.UNKNOWN))
        object.__setattr__(self, "device", Device(self.context.get("device") or Device.UNKNOWN))
        object.__setattr__(self, "ages", tuple([band for band in bands if band]))

    def judged_since(self, game: Game) -> "Situation":
        """Return a copy with only the points and errors from this game on."""
        points, errors = self.points_played, self.own_errors
        return replace(self, points_played=points and points.since(game), own_errors=errors and errors.since(game))


def chosen(situation: Situation) -> Chosen | None:
    """Return the tactic being played and since when: as posted, else last chosen, else most tried in the last game."""
    if situation.plan:
        return situation.plan
    tries = situation.tries
    if picked := [one for one in tries if not one.tried]:
        return Chosen(picked[-1].tactic, picked[-1].played_in)
    games = sorted({one.played_in for one in tries if one.played_in}, reverse=True)
    of_now = summed(one for one in tries if not games or one.played_in == games[0])
    if not of_now:
        return None
    most = max(reversed(of_now.values()), key=lambda one: one.tried).tactic
    played = {one.played_in for one in tries if one.tactic == most}
    return Chosen(most, games[sum(1 for _ in takewhile(played.__contains__, games)) - 1] if games else None)
