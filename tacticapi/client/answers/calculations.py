"""What calculations say, unrounded. Where the event permits none now, all but notice is None."""

from dataclasses import dataclass

from tacticapi.client.answers.advice import Safety
from tacticapi.client.answers.reading import Answer


@dataclass(frozen=True, kw_only=True)
class Interval(Answer):
    """A chance with the 10th and 90th percentile of what is not known; all three alike where it is exact."""

    chance: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class ByPart(Answer):
    """A figure for each part of the match."""

    match: float
    set: float
    game: float


@dataclass(frozen=True, kw_only=True)
class NextPoint(Answer):
    """What the score says about the next point."""

    server: str | None
    courts: tuple[str, ...]
    tie_break: bool
    deciding_point: bool
    game_point: tuple[str, ...]
    break_point: tuple[str, ...] | None
    set_point: tuple[str, ...]
    match_point: tuple[str, ...]
    ends_change_now: bool
    ends_change_after_game: bool
    ends_change_in_points: int | None


@dataclass(frozen=True, kw_only=True)
class WinChance(Answer):
    """Your chances from a score, unrounded."""

    safety: tuple[Safety, ...]
    notice: tuple[str, ...]
    match: Interval | None
    set: Interval | None
    game: Interval | None
    importance: ByPart | None
    if_won: ByPart | None
    if_lost: ByPart | None
    score: str | None
    next_point: NextPoint | None


@dataclass(frozen=True, kw_only=True)
class PointImportance(ByPart):
    """How much one point matters."""

    score: str


@dataclass(frozen=True, kw_only=True)
class ImportanceTable(Answer):
    """How much each point of a game or tie-break matters, unrounded."""

    safety: tuple[Safety, ...]
    notice: tuple[str, ...]
    server: str | None
    tie_break: bool | None
    items: tuple[PointImportance, ...] | None


@dataclass(frozen=True, kw_only=True)
class Tenths(Answer):
    """Serves out of ten."""

    wide: int | None
    body: int | None
    T: int | None


@dataclass(frozen=True, kw_only=True)
class Spot(Answer):
    """One spot of the mix."""

    spot: str
    wing: str | None
    share: float
    low: float
    high: float
    wins: float
    concedes: float
    if_always: float


@dataclass(frozen=True, kw_only=True)
class Pattern(Answer):
    """Whether serves in order give their server away."""

    verdict: str
    spot: str | None
    p_value: float
    served: int
    needed: int
    needed_for_switching: int | None


@dataclass(frozen=True, kw_only=True)
class PatternAtScore(Pattern):
    """Whether a favourite shows at one score."""

    score: str


@dataclass(frozen=True, kw_only=True)
class After(Answer):
    """How often a spot followed itself."""

    spot: str
    again: int
    of: int
    share: float | None
    by_chance: float | None
    p_value: float


@dataclass(frozen=True, kw_only=True)
class CourtMix(Answer):
    """The mix for one side of the court, unrounded."""

    tenths: Tenths
    order: tuple[str, ...]
    value: Interval
    if_read: float
    lean_weight: float
    past_gives: float | None
    spots: tuple[Spot, ...]
    pattern: Pattern | None
    by_score: tuple[PatternAtScore, ...]
    after: tuple[After, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class CourtMixes(Answer):
    """The mix by court."""

    deuce: CourtMix | None
    ad: CourtMix | None


@dataclass(frozen=True, kw_only=True)
class ServeMix(Answer):
    """Where to serve how often."""

    safety: tuple[Safety, ...]
    notice: tuple[str, ...]
    courts: CourtMixes | None
