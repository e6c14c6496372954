"""Questions that keep nothing: advice on a situation, and calculations on scores and serves, unrounded.

If the event permits no calculation now, all but notice is None.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Unpack

from tacticapi.client.advice import Advice, Explanation, Safety
from tacticapi.client.calls import Answer, Calls, Picture, read
from tacticapi.client.questions import CourtQuestion, ScoreQuestion, ServesQuestion


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


class Stateless:
    """What may be asked without a club."""

    _calls: Calls

    def suggest(self, situation: Mapping[str, Any]) -> Advice:
        """Advice on a situation: its `moment` and all that is known, such as `opponent`, `observations`, `score`."""
        return read(Advice, self._calls.ask("/v1/suggestions", situation))

    def explain(self, situation: Mapping[str, Any], *, tactic: str | None = None) -> Explanation:
        """The same advice with every fact and rule, and why this tactic (without one: each) did or did not speak."""
        return read(Explanation, self._calls.ask("/v1/explanations", situation, {"tactic": tactic}))

    def win_chance(self, **question: Unpack[ScoreQuestion]) -> WinChance:
        """The chance of match, set and game from a score, and what the next point does to them.

        Exactly one of `point_chances` and `points_played` is needed; the rest is `score`, `format`, `level_gap`,
        `moment`, `context`.
        """
        return read(WinChance, self._calls.ask("/v1/calculations/win-chance", question))

    def importance(self, **question: Unpack[ScoreQuestion]) -> ImportanceTable:
        """How much each point of a game or tie-break matters; takes what `win_chance` takes, `server` in the score."""
        return read(ImportanceTable, self._calls.ask("/v1/calculations/importance", question))

    def serve_mix(self, courts: Mapping[str, Any], **more: Unpack[ServesQuestion]) -> ServeMix:
        """Where to serve how often, by what was counted for `deuce` and `ad`, and whether the order gives you away."""
        return read(ServeMix, self._calls.ask("/v1/calculations/serve-mix", {"courts": courts, **more}))

    def court(self, name: CourtQuestion, question: Mapping[str, Any]) -> Mapping[str, Any]:
        """What court and ball say, as the JSON that the contract describes: where to stand, a gap, a margin."""
        answer: Mapping[str, Any] = self._calls.ask(f"/v1/calculations/{name}", question)
        return answer

    def court_picture(self, name: CourtQuestion, question: Mapping[str, Any]) -> Picture:
        """The same as a picture."""
        return Picture(self._calls.ask_text(f"/v1/calculations/{name}", question, accept="image/svg+xml"))
