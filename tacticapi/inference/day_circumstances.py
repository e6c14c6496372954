"""The circumstances of the day and of the people."""

from tacticapi.domain.situation import Coaching, Device
from tacticapi.inference.danger import SEVERE, UNDER_18
from tacticapi.inference.view import View, circumstance

UNDER_14 = frozenset({"U12", "U14"})
SENIOR = frozenset({"60+", "70+"})
STOP_WORD, HOT_WORDS = "extreme", frozenset({"hot", "extreme"})


@circumstance("hot")
def _hot(view: View) -> bool:
    return view.situation.context.get("heat") in HOT_WORDS or _hotter_than(view, "precaution")


@circumstance("too-hot-to-play")
def _too_hot_to_play(view: View) -> bool:
    return view.situation.context.get("heat") == STOP_WORD or _hotter_than(view, "stop")


def _hotter_than(view: View, level: str) -> bool:
    """Whether a posted figure reaches the level for any age band in the match; a WBGT decides alone if it is known."""
    context, ages = view.situation.context, set(view.situation.ages)
    groups = {"under_14": UNDER_14, "under_18": UNDER_18, "over_60": SENIOR}
    present = ["adult", *(name for name, bands in groups.items() if bands & ages)]
    air, humidity = context.get("heat_air_c"), context.get("heat_humidity")
    figures = {"wbgt": context.get("heat_wbgt"), "air_c": air}
    if air is not None and humidity is not None:
        figures["heat_index"] = heat_index(air, humidity)
    known = {name: figure for name, figure in figures.items() if figure is not None}
    limits = (view.defaults["heat"][group][level] for group in present)
    if "wbgt" in known:
        return any(known["wbgt"] >= limit["wbgt"] for limit in limits)
    return any(figure >= limit[name] for limit in limits for name, figure in known.items())


def heat_index(air_c: float, humidity: float) -> float:
    """Return the heat index in °C for air in the shade (°C) and relative humidity (%).

    Regression of the US National Weather Service (nws.noaa.gov, definition of the heat index, text seen; its author
    Rothfusz and his technical attachment SR 90-23 of 1990 from memory), which holds from about 27 °C; below, the air
    itself.
    """
    if air_c < 27:
        return air_c
    f, h = air_c * 9 / 5 + 32, humidity
    index = (
        -42.379 + 2.04901523 * f + 10.14333127 * h - 0.22475541 * f * h - 6.83783e-3 * f * f - 5.481717e-2 * h * h
        + 1.22874e-3 * f * f * h + 8.5282e-4 * f * h * h - 1.99e-6 * f * f * h * h
    )  # fmt: skip
    return (index - 32) * 5 / 9


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
    return view.health.pain is not None


@circumstance("pain-stops-play")
def _pain_stops_play(view: View) -> bool:
    return view.health.pain is not None and view.health.pain.stops


@circumstance("severe-pain")
def _severe_pain(view: View) -> bool:
    return view.health.pain is not None and view.health.pain.degree >= SEVERE


@circumstance("neck-pain")
def _neck_pain(view: View) -> bool:
    return view.health.pain is not None and "neck" in view.health.pain.sites


@circumstance("own-under-18")
def _own_under_18(view: View) -> bool:
    return bool({view.situation.own.get("age_band"), view.situation.context.get("age_band")} & UNDER_18)


@circumstance("sore-arm")
def _sore_arm(view: View) -> bool:
    return "arm" in view.health.sore


@circumstance("sore-legs")
def _sore_legs(view: View) -> bool:
    return "legs" in view.health.sore


@circumstance("opponent-out-of-breath", "physical.recovery_of_breath")
def _opponent_out_of_breath(view: View) -> bool:
    return view.health.breathless


@circumstance("warning-sign", "physical.warning_sign")
def _warning_sign(view: View) -> bool:
    return bool(view.health.signs)


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
