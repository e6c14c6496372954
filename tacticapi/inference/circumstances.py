"""The circumstances that need arithmetic or a negation, computed before matching.

Each function answers one named question about a view; `rules/circumstances/computed.yaml` says in words what
each means. Circumstances that are plain conjunctions are rules, not code, and stand in the rule files.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Coaching, Device, Moment, Way
from tacticapi.scoring import NextPoint, State

UNDER_14 = frozenset({"U12", "U14"})
UNDER_18 = UNDER_14 | {"U18"}
SENIOR = frozenset({"60+", "70+"})
BEFORE_PLAY = frozenset({Moment.BEFORE_MATCH, Moment.AFTER_WARM_UP})
IN_PLAY = frozenset({Moment.BETWEEN_POINTS, Moment.CHANGE_OF_ENDS, Moment.SET_BREAK})


@dataclass(frozen=True, slots=True)
class View:
    """Everything that circumstances look at. `importance` is that of the next point within its game, 0 to 1.

    `plan_losing` and `plan_winning` are the verdicts on the tactics tried; `play_changed` says whether a share of the
    opponent's play moved between games.
    """

    situation: Situation
    defaults: Mapping[str, Any]
    state: State | None = None
    point: NextPoint | None = None
    importance: float | None = None
    plan_losing: bool = False
    plan_winning: bool = False
    play_changed: bool = False

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


def holding(view: View, names: frozenset[str]) -> Iterator[str]:
    """Yield those of the named circumstances that hold, in the order of their registration."""
    for name, question in COMPUTED.items():
        if name in names and question(view):
            yield name


# The score --------------------------------------------------------------------------------------------------


@circumstance("no-games-yet")
def _no_games_yet(view: View) -> bool:
    if view.state is not None:
        return not view.state.sets and sum(view.state.games) == 0
    return view.situation.moment in BEFORE_PLAY


@circumstance("first-games")
def _first_games(view: View) -> bool:
    return _games_at_most(view, 3)


@circumstance("games-one-to-four")
def _games_one_to_four(view: View) -> bool:
    return _games_at_most(view, 4)


def _games_at_most(view: View, most: int) -> bool:
    if view.situation.moment in (Moment.BEFORE_MATCH, Moment.AFTER_MATCH):
        return False
    if view.state is None:
        return view.situation.moment is Moment.AFTER_WARM_UP
    return not view.state.sets and sum(view.state.games) <= most


@circumstance("ahead")
def _ahead(view: View) -> bool:
    return (view.sets_ahead, view.games_ahead) > (0, 0)


@circumstance("behind")
def _behind(view: View) -> bool:
    return (view.sets_ahead, view.games_ahead) < (0, 0)


@circumstance("level")
def _level(view: View) -> bool:
    return view.state is not None and view.sets_ahead == 0 and view.breaks_ahead == 0


@circumstance("one-break-behind")
def _one_break_behind(view: View) -> bool:
    return view.breaks_ahead == -1


@circumstance("two-breaks-behind")
def _two_breaks_behind(view: View) -> bool:
    return view.breaks_ahead <= -2


@circumstance("far-behind")
def _far_behind(view: View) -> bool:
    return view.breaks_ahead <= -2 or (view.sets_ahead < 0 and view.breaks_ahead < 0)


@circumstance("outclassed")
def _outclassed(view: View) -> bool:
    if view.state is None:
        return False
    lost_clearly = any(own <= 1 and opponent >= 6 for own, opponent in view.state.sets[-1:])
    return lost_clearly or view.state.games in ((0, 4), (0, 5), (1, 5))


@circumstance("opponent-serves-for-set")
def _opponent_serves_for_set(view: View) -> bool:
    return _serves_for_set(view, "opponent", (0, 1))


@circumstance("own-serves-for-set")
def _own_serves_for_set(view: View) -> bool:
    return _serves_for_set(view, "own", (1, 0))


def _serves_for_set(view: View, server: str, step: tuple[int, int]) -> bool:
    state = view.state
    if state is None or state.winner is not None or state.in_tie_break or state.server != server:
        return False
    return state.rule.is_result((state.games[0] + step[0], state.games[1] + step[1]))


@circumstance("break-point-for")
def _break_point_for(view: View) -> bool:
    return view.point is not None and "own" in (view.point.break_point or ())


@circumstance("break-point-against")
def _break_point_against(view: View) -> bool:
    return view.point is not None and "opponent" in (view.point.break_point or ())


@circumstance("game-point-for")
def _game_point_for(view: View) -> bool:
    return view.point is not None and "own" in view.point.game_point


@circumstance("game-point-against")
def _game_point_against(view: View) -> bool:
    return view.point is not None and "opponent" in view.point.game_point


@circumstance("set-point-for")
def _set_point_for(view: View) -> bool:
    return view.point is not None and "own" in view.point.set_point


@circumstance("set-point-against")
def _set_point_against(view: View) -> bool:
    return view.point is not None and "opponent" in view.point.set_point


@circumstance("important-point")
def _important_point(view: View) -> bool:
    return view.importance is not None and view.importance >= view.share("important_point")


@circumstance("easy-point")
def _easy_point(view: View) -> bool:
    return view.importance is not None and 0.0 < view.importance <= view.share("easy_point")


@circumstance("deciding-point")
def _deciding_point(view: View) -> bool:
    return view.state is not None and view.state.deciding_point and not view.state.in_tie_break


@circumstance("tie-break-now")
def _tie_break_now(view: View) -> bool:
    return view.state is not None and view.state.in_tie_break


@circumstance("tie-break-near")
def _tie_break_near(view: View) -> bool:
    if view.state is None or view.state.in_tie_break or view.state.winner is not None:
        return False
    return view.state.rule.tie_break is not None and min(view.state.games) >= view.share("tie_break_near")


@circumstance("change-with-rest")
def _change_with_rest(view: View) -> bool:
    if view.situation.moment is not Moment.CHANGE_OF_ENDS:
        return False
    return view.state is None or (sum(view.state.games) != 1 and not view.state.in_tie_break)


# The record -------------------------------------------------------------------------------------------------


@circumstance("points-lost-in-row", "record.last_points")
def _points_lost_in_row(view: View) -> bool:
    return _ends_with(view, "L")


@circumstance("points-won-in-row", "record.last_points")
def _points_won_in_row(view: View) -> bool:
    return _ends_with(view, "W")


def _ends_with(view: View, letter: str) -> bool:
    last = [o.value for o in view.situation.observations if o.what == "record.last_points" and o.value]
    return bool(last) and last[-1].upper().endswith(letter * int(view.share("run_of_points")))


@circumstance("losing-by-own-errors")
def _losing_by_own_errors(view: View) -> bool:
    share = _own_error_share(view)
    return share is not None and share >= view.share("own_error_share")


@circumstance("losing-to-better-play")
def _losing_to_better_play(view: View) -> bool:
    share = _own_error_share(view)
    return share is not None and share < view.share("their_play_share")


def _own_error_share(view: View) -> float | None:
    errors = view.situation.own_errors
    if errors is None or errors.of < view.share("lost_points_to_judge"):
        return None
    return errors.unforced / errors.of


@circumstance("winning-points")
def _winning_points(view: View) -> bool:
    share = _points_share(view)
    return share is not None and share >= view.share("winning_share")


@circumstance("losing-points")
def _losing_points(view: View) -> bool:
    share = _points_share(view)
    return share is not None and share < view.share("losing_share")


def _points_share(view: View) -> float | None:
    played = view.situation.points_played
    if played is None or played.serve_of + played.return_of < view.share("points_to_judge"):
        return None
    return (played.serve_won + played.return_won) / (played.serve_of + played.return_of)


@circumstance("plan-losing")
def _plan_losing(view: View) -> bool:
    return view.plan_losing


@circumstance("plan-winning")
def _plan_winning(view: View) -> bool:
    return view.plan_winning


@circumstance("their-play-changed")
def _their_play_changed(view: View) -> bool:
    return view.play_changed


@circumstance("returns-counted-backhand", "return.backhand_in")
def _returns_counted_backhand(view: View) -> bool:
    return _chances(view, "return.backhand_in") >= float(view.defaults["returns_counted"])


@circumstance("returns-counted-forehand", "return.forehand_in")
def _returns_counted_forehand(view: View) -> bool:
    return _chances(view, "return.forehand_in") >= float(view.defaults["returns_counted"])


def _chances(view: View, what: str) -> float:
    return sum(o.of or 0.0 for o in view.situation.observations if o.what == what and o.way is Way.COUNT)


# The day and the people -------------------------------------------------------------------------------------


@circumstance("hot")
def _hot(view: View) -> bool:
    context, limits = view.situation.context, view.defaults["heat"]
    felt = context.get("heat") in ("hot", "extreme")
    return felt or any((context.get(f"heat_{name}") or -100.0) >= limit for name, limit in limits.items())


@circumstance("wet-or-damp")
def _wet_or_damp(view: View) -> bool:
    return view.situation.context.get("surface_state") in ("damp", "wet")


@circumstance("wind-strong")
def _wind_strong(view: View) -> bool:
    return view.situation.context.get("wind") == "strong"


@circumstance("wind-moderate")
def _wind_moderate(view: View) -> bool:
    return view.situation.context.get("wind") in ("moderate", "strong")


@circumstance("wind-with")
def _wind_with(view: View) -> bool:
    return _wind_moderate(view) and "with" in _directions(view)


@circumstance("wind-against")
def _wind_against(view: View) -> bool:
    return _wind_moderate(view) and "against" in _directions(view)


@circumstance("wind-across")
def _wind_across(view: View) -> bool:
    return _wind_moderate(view) and "cross" in _directions(view)


def _directions(view: View) -> set[str]:
    """How the wind blows at each end, as felt by the observer there; the far end is the mirror of the near one."""
    directions = set((view.situation.context.get("wind_direction") or {}).values())
    mirror = {"with": "against", "against": "with", "cross": "cross"}
    return directions | {mirror[d] for d in directions}


@circumstance("sun-in-play")
def _sun_in_play(view: View) -> bool:
    return view.situation.context.get("sun") in ("north", "south", "both")


@circumstance("under-14")
def _under_14(view: View) -> bool:
    return view.situation.own.get("age_band") in UNDER_14 or view.situation.context.get("age_band") in UNDER_14


@circumstance("opponent-under-14")
def _opponent_under_14(view: View) -> bool:
    return view.situation.opponent.get("age_band") in UNDER_14 or view.situation.context.get("age_band") in UNDER_14


@circumstance("under-18")
def _under_18(view: View) -> bool:
    return any(band in UNDER_18 for band in view.situation.ages)


@circumstance("senior")
def _senior(view: View) -> bool:
    return any(band in SENIOR for band in view.situation.ages)


@circumstance("own-pain")
def _own_pain(view: View) -> bool:
    return float(view.situation.own.get("pain_now") or 0) >= 1


@circumstance("warning-sign", "physical.warning_sign")
def _warning_sign(view: View) -> bool:
    return any(o.what == "physical.warning_sign" and o.seen is not False for o in view.situation.observations)


@circumstance("long-match")
def _long_match(view: View) -> bool:
    return float(view.situation.context.get("elapsed") or 0) >= float(view.defaults["long_match_min"])


@circumstance("same-handed")
def _same_handed(view: View) -> bool:
    return _hands(view) in {("right", "right"), ("left", "left")}


@circumstance("opposite-handed")
def _opposite_handed(view: View) -> bool:
    return _hands(view) in {("right", "left"), ("left", "right")}


@circumstance("left-hander-against-right-hander")
def _left_against_right(view: View) -> bool:
    return _hands(view) == ("left", "right")


@circumstance("right-hander-against-left-hander")
def _right_against_left(view: View) -> bool:
    return _hands(view) == ("right", "left")


def _hands(view: View) -> tuple[str | None, str | None]:
    return view.situation.own.get("handedness"), view.situation.opponent.get("handedness")


@circumstance("two-forehands")
def _two_forehands(view: View) -> bool:
    return view.situation.opponent.get("handedness") == "both"


@circumstance("coaching-may-be-barred")
def _coaching_may_be_barred(view: View) -> bool:
    return view.situation.coaching is Coaching.UNKNOWN or view.situation.device is Device.UNKNOWN


@circumstance("no-officials")
def _no_officials(view: View) -> bool:
    return view.situation.context.get("officials") == "none"


@circumstance("officials-present")
def _officials_present(view: View) -> bool:
    return view.situation.context.get("officials") in ("chair", "roving")
