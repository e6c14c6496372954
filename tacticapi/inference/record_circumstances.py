"""The circumstances of what was counted: points, errors, tries, returns."""

from tacticapi.domain.situation import Way
from tacticapi.inference.view import View, circumstance


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
