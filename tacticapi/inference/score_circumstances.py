"""The circumstances of the score."""

from tacticapi.domain.situation import Moment
from tacticapi.inference.view import View, circumstance

BEFORE_PLAY = frozenset({Moment.BEFORE_MATCH, Moment.AFTER_WARM_UP})


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
