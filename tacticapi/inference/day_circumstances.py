"""The circumstances of the day and of the people."""

from tacticapi.domain.terms import Coaching, Device
from tacticapi.inference.view import View, circumstance

UNDER_14 = frozenset({"U12", "U14"})
UNDER_18 = UNDER_14 | {"U18"}
SENIOR = frozenset({"60+", "70+"})


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
