"""Compute the circumstances that need arithmetic or negation, before matching; rules derive all others."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import nan
from typing import Any

from tacticapi.domain.situation import Coaching, Device, Moment, PointsPlayed, Situation
from tacticapi.rulebook.danger import BREATH, SEVERE, UNDER_18, Health, sign_circumstance
from tacticapi.scoring.formats import Format
from tacticapi.scoring.score import NextPoint, Standing, State, standing

UNDER_14 = frozenset({"U12", "U14"})
SENIOR = frozenset({"60+", "70+"})
STOP_WORD, HOT_WORDS = "extreme", frozenset({"hot", "extreme"})
BEFORE_PLAY = frozenset({Moment.BEFORE_MATCH, Moment.AFTER_WARM_UP})
LAST_POINTS = "record.last_points"
NO_SCORE = State(Format())


@dataclass(frozen=True)
class View:
    """Everything that circumstances depend on. `importance` is how much the next point matters in its game, 0 to 1."""

    situation: Situation
    defaults: Mapping[str, Any]
    state: State | None = None
    point: NextPoint | None = None
    importance: float | None = None
    plan_losing: bool = False
    plan_winning: bool = False
    play_changed: bool = False
    health: Health = field(default_factory=Health)

    @cached_property
    def standing(self) -> Standing:
        """Return the match's standing. Without a score, nobody is ahead."""
        return standing(self.state or NO_SCORE)

    @property
    def own_error_share(self) -> float:
        """Return our unforced errors as a share of the points lost; NaN if too few points were counted."""
        errors = self.situation.own_errors
        return errors.unforced / errors.of if errors and errors.of >= self.share("lost_points_to_judge") else nan

    @property
    def points_share(self) -> float:
        """Return the share of all points that we won; NaN if too few points were played."""
        played = self.situation.points_played or PointsPlayed()
        of = played.serve_of + played.return_of
        return (played.serve_won + played.return_won) / of if of >= self.share("points_to_judge") else nan

    def share(self, name: str) -> float:
        """Return a threshold from the score section of the defaults."""
        return float(self.defaults["score"][name])


Question = Callable[[View], bool]


def holding(view: View, names: frozenset[str]) -> Iterator[str]:
    """Yield each named circumstance that holds, in the order of `COMPUTED`, then the danger signs."""
    for name, question in COMPUTED.items():
        if name in names and question(view):
            yield name
    yield from (name for name in map(sign_circumstance, view.health.signs) if name in names)


def heat_index(air_c: float, humidity: float) -> float:
    """Return the heat index in °C for air in the shade (°C) and relative humidity (%).

    This is the US National Weather Service's regression (nws.noaa.gov, text seen; Rothfusz, SR 90-23 of 1990, from
    memory), which is valid from about 27 °C; below that, the air temperature is returned.
    """
    if air_c < 27:
        return air_c
    f, h = air_c * 9 / 5 + 32, humidity
    index = (
        -42.379 + 2.04901523 * f + 10.14333127 * h - 0.22475541 * f * h - 6.83783e-3 * f * f - 5.481717e-2 * h * h
        + 1.22874e-3 * f * f * h + 8.5282e-4 * f * h * h - 1.99e-6 * f * f * h * h
    )  # fmt: skip
    return (index - 32) * 5 / 9


def _hotter_than(view: View, level: str) -> bool:
    """Return whether a posted figure reaches the level for any age band present; a known WBGT overrides the rest."""
    context = view.situation.context
    air, humidity, wbgt = (context.get(f"heat_{name}") for name in ("air_c", "humidity", "wbgt"))
    known = {} if air is None else {"air_c": air}
    if air is not None and humidity is not None:
        known["heat_index"] = heat_index(air, humidity)
    if wbgt is not None:
        known = {"wbgt": wbgt}
    groups = {"under_14": UNDER_14, "under_18": UNDER_18, "over_60": SENIOR}
    present = ["adult", *(name for name, bands in groups.items() if bands & {*view.situation.ages})]
    limits = (view.defaults["heat"][group][level] for group in present)
    return any(figure >= limit[name] for limit in limits for name, figure in known.items())


def _context_is(name: str, *words: str) -> Question:
    return lambda view: view.situation.context.get(name) in words


_windy = _context_is("wind", "moderate", "strong")


def _wind_blows(*directions: str) -> Question:
    return lambda view: (
        _windy(view) and any(one in directions for one in (view.situation.context.get("wind_direction") or {}).values())
    )


def _aged(bands: frozenset[str], *whose: str) -> Question:
    return lambda view: any(getattr(view.situation, who).get("age_band") in bands for who in (*whose, "context"))


def _hands(*pairs: tuple[str, str]) -> Question:
    return lambda view: (view.situation.own.get("handedness"), view.situation.opponent.get("handedness")) in pairs


def _ends_with(letter: str) -> Question:

    def question(view: View) -> bool:
        last = [o.value for o in view.situation.observations if o.what == LAST_POINTS and o.value]
        return bool(last) and last[-1].upper().endswith(letter * int(view.share("run_of_points")))

    return question


def _games_at_most(most: int) -> Question:
    def question(view: View) -> bool:
        moment, state = view.situation.moment, view.state
        if moment in (Moment.BEFORE_MATCH, Moment.AFTER_MATCH):
            return False
        return moment is Moment.AFTER_WARM_UP if state is None else not state.sets and sum(state.games) <= most

    return question


def _outclassed(view: View) -> bool:
    if view.state is None:
        return False
    lost_clearly = any(own <= 1 and opponent >= 6 for own, opponent in view.state.sets[-1:])
    return lost_clearly or view.state.games in ((0, 4), (0, 5), (1, 5))


def _lead(view: View) -> int:
    """Return the lead in sets plus breaks; 0 if we lead in one and trail in the other."""
    sets, breaks = view.standing[1:3]
    return 0 if sets * breaks < 0 else sets + breaks


def _point(name: str, player: str) -> Question:
    return lambda view: view.point is not None and player in (getattr(view.point, name) or ())


def _tie_break_near(view: View) -> bool:
    state = view.state
    if state is None or state.winner or state.in_tie_break or state.rule.tie_break is None:
        return False
    return min(state.games) >= view.share("tie_break_near")


COMPUTED: Mapping[str, Question] = {
    "hot": lambda view: view.situation.context.get("heat") in HOT_WORDS or _hotter_than(view, "precaution"),
    "too-hot-to-play": lambda view: view.situation.context.get("heat") == STOP_WORD or _hotter_than(view, "stop"),
    "wet-or-damp": _context_is("surface_state", "damp", "wet"),
    "wind-strong": _context_is("wind", "strong"),
    "wind-moderate": _windy,
    # the far end mirrors the near one
    "wind-with": _wind_blows("with", "against"),
    "wind-against": _wind_blows("with", "against"),
    "wind-across": _wind_blows("cross"),
    "sun-in-play": _context_is("sun", "north", "south", "both"),
    "under-14": _aged(UNDER_14, "own"),
    "opponent-under-14": _aged(UNDER_14, "opponent"),
    "under-18": _aged(UNDER_18, "own", "opponent"),
    "senior": _aged(SENIOR, "own", "opponent"),
    "own-pain": lambda view: view.health.pain is not None,
    "pain-stops-play": lambda view: view.health.pain is not None and view.health.pain.stops,
    "severe-pain": lambda view: view.health.pain is not None and view.health.pain.degree >= SEVERE,
    "neck-pain": lambda view: view.health.pain is not None and "neck" in view.health.pain.sites,
    "own-under-18": _aged(UNDER_18, "own"),
    "sore-arm": lambda view: "arm" in view.health.sore,
    "sore-legs": lambda view: "legs" in view.health.sore,
    "opponent-out-of-breath": lambda view: view.health.breathless,
    "warning-sign": lambda view: bool(view.health.signs),
    "long-match": lambda view: (
        float(view.situation.context.get("elapsed") or 0) >= float(view.defaults["long_match_min"])
    ),
    "same-handed": _hands(("right", "right"), ("left", "left")),
    "opposite-handed": _hands(("right", "left"), ("left", "right")),
    "left-hander-against-right-hander": _hands(("left", "right")),
    "right-hander-against-left-hander": _hands(("right", "left")),
    "two-forehands": lambda view: view.situation.opponent.get("handedness") == "both",
    "coaching-may-be-barred": lambda view: (
        view.situation.coaching is Coaching.UNKNOWN or view.situation.device is Device.UNKNOWN
    ),
    "no-officials": _context_is("officials", "none"),
    "officials-present": _context_is("officials", "chair", "roving"),
    "points-lost-in-row": _ends_with("L"),
    "points-won-in-row": _ends_with("W"),
    "losing-by-own-errors": lambda view: view.own_error_share >= view.share("own_error_share"),
    "losing-to-better-play": lambda view: (  # they earn most of the points that we lose, and the points are not level
        not view.points_share >= view.share("level_share") and view.own_error_share < view.share("their_play_share")
    ),
    "winning-points": lambda view: view.points_share >= view.share("winning_share"),
    "losing-points": lambda view: view.points_share < view.share("losing_share"),
    "plan-losing": lambda view: view.plan_losing,
    "plan-winning": lambda view: view.plan_winning,
    "their-play-changed": lambda view: view.play_changed,
    "no-games-yet": lambda view: (
        view.situation.moment in BEFORE_PLAY if view.state is None else not (view.state.sets or any(view.state.games))
    ),
    "first-games": _games_at_most(3),
    "games-one-to-four": _games_at_most(4),
    "ahead": lambda view: _lead(view) > 0,
    "behind": lambda view: _lead(view) < 0,
    "level": lambda view: view.state is not None and view.standing[1:3] == (0, 0),
    "one-break-behind": lambda view: view.standing.breaks_ahead == -1,
    "two-breaks-behind": lambda view: view.standing.breaks_ahead <= -2,
    "far-behind": lambda view: view.standing.breaks_ahead <= -(1 if view.standing.sets_ahead < 0 else 2),
    "outclassed": _outclassed,
    "opponent-serves-for-set": lambda view: view.standing.serves_for_set == "opponent",
    "own-serves-for-set": lambda view: view.standing.serves_for_set == "own",
    "break-point-for": _point("break_point", "own"),
    "break-point-against": _point("break_point", "opponent"),
    "game-point-for": _point("game_point", "own"),
    "game-point-against": _point("game_point", "opponent"),
    "set-point-for": _point("set_point", "own"),
    "set-point-against": _point("set_point", "opponent"),
    "match-point-for": _point("match_point", "own"),
    "match-point-against": _point("match_point", "opponent"),
    "important-point": lambda view: view.importance is not None and view.importance >= view.share("important_point"),
    "easy-point": lambda view: view.importance is not None and 0.0 < view.importance <= view.share("easy_point"),
    "deciding-point": lambda view: view.point is not None and view.point.deciding_point and not view.point.in_tie_break,
    "tie-break-now": lambda view: view.point is not None and view.point.in_tie_break,
    "tie-break-near": _tie_break_near,
    "match-tie-break": lambda view: (
        view.state is not None and view.state.in_tie_break and view.state.rule.is_match_tie_break
    ),
    "change-with-rest": lambda view: (
        view.situation.moment is Moment.CHANGE_OF_ENDS
        and (view.state is None or (sum(view.state.games) != 1 and not view.standing.in_tie_break))
    ),
}
READS: Mapping[str, str] = {
    "opponent-out-of-breath": BREATH,
    "points-lost-in-row": LAST_POINTS,
    "points-won-in-row": LAST_POINTS,
}
"""The observation kind that each computed circumstance reads directly."""
