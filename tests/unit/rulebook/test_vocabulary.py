"""What is posted is checked against its kind, and every fault names its place."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.domain.rules import ObservationKind
from tacticapi.domain.situation import Phase, Way
from tacticapi.posted import faults, profile_faults


def kind(*ways, **fields):
    name = fields.pop("id", "serve.spots")
    return ObservationKind(name, "Spots", "Where?", "spots", ways, (Phase.GAMES,), **fields)


COUNT = kind(Way.COUNT, Way.RATING)
SPOTS = kind(Way.COUNTS, options=("wide", "body", "T"))
BOUNCE = kind(Way.VALUE, options=("hip", "shoulder"))
PAUSE = kind(Way.AMOUNT, unit="s", low=0, high=600)
SIGN = kind(Way.SEEN)
BY_WING = kind(Way.COUNT, qualifiers={"wing": "required", "serve": "optional"})
WHOLE, RATING, HALVES = "a whole number from 0", "a whole number from 0 to 4", "one of forehand, backhand"


@pytest.mark.parametrize(
    ("of", "posted", "path", "expected"),
    [
        (COUNT, {}, (), "one form: count or rating"),
        (COUNT, {"count": 5}, ("of",), "the number of chances"),
        (COUNT, {"count": 5, "of": None}, ("of",), "the number of chances"),
        (COUNT, {"count": 9, "of": 8}, ("count",), "at most 8"),
        *((COUNT, {"count": wrong, "of": 8}, ("count",), WHOLE) for wrong in (-1, 1.5, True)),
        *((COUNT, {"count": 1, "of": wrong}, ("of",), "to 10,000") for wrong in (10_001, 10**400)),
        (COUNT, {"count": 1, "of": 2, "rating": 3}, ("rating",), "one form, not several"),
        (COUNT, {"rating": 3, "of": 2}, ("of",), "`of` only with `count`"),
        *((COUNT, {"rating": wrong}, ("rating",), RATING) for wrong in (5, "good")),
        (COUNT, {"seen": True}, ("seen",), "another form: count or rating"),
        (SPOTS, {"counts": {"line": 1}}, ("counts", "line"), "one of wide, body, T"),
        (SPOTS, {"counts": {"T": -1}}, ("counts", "T"), WHOLE),
        *((SPOTS, {"counts": wrong}, ("counts",), "chances by option") for wrong in ({}, [1])),
        *((BOUNCE, {"value": wrong}, ("value",), "one of hip, shoulder") for wrong in ("knee", ["hip"])),
        *((PAUSE, {"amount": wrong}, ("amount",), "a number from 0 to 600 in s") for wrong in (601, math.nan)),
        (SIGN, {"seen": "yes"}, ("seen",), "true or false"),
        *((BY_WING, {"count": 1, "of": 2, **wing}, ("wing",), HALVES) for wing in ({}, {"wing": "left"})),
        (SIGN, {"seen": True, "wing": "forehand"}, ("wing",), "takes none"),
        (SIGN, {"seen": True, "set": 0}, ("set",), "a whole number from 1"),
        (SIGN, {"seen": True, "game": "first"}, ("game",), "a whole number from 1"),
        (SIGN, {"seen": True, "end": "left"}, ("end",), "one of north, south"),
    ],
)
def test_a_fault_names_its_place_and_what_was_expected(of, posted, path, expected):
    (fault,) = faults(posted, of)
    assert fault.path == path
    assert expected in fault.expected
    if posted.get("count") == 9:  # all faults are told at once
        assert {one.path[0] for one in faults({**posted, "court": "ad", "set": 0}, of)} == {"count", "court", "set"}


WIND = kind(Way.VALUE, id="context.wind", options=("none", "light", "strong"))
HEAT = kind(Way.VALUE, id="context.heat", options=("cool", "hot"))
LIGHT = {"strength": "light"}
PACE = kind(Way.RATING, Way.VALUE, id="context.court_pace", options=("slow", "fast"))


@pytest.mark.parametrize(
    ("value", "of"),
    [
        (None, PACE),
        (2, PACE),
        ("slow", PACE),
        ("light", WIND),
        ({"strength": "light", "direction": {"north": "with", "south": "against"}}, WIND),
        ({"strength": "light", "direction": None}, WIND),
        ({"air_c": 31.5, "humidity": 60, "wbgt": None}, HEAT),
        ("after five o'clock", kind(Way.VALUE, Way.TEXT, options=("north", "south"))),
    ],
)
def test_a_profile_item_may_be_said_in_each_of_its_ways(value, of):
    assert profile_faults(of.key, value, of) == []


@pytest.mark.parametrize(
    ("of", "value", "path", "expected"),
    [
        (PACE, 5, ("court_pace",), "a rating: a whole number from 0 to 4 or one of slow, fast"),
        (PACE, {"slow": 1}, ("court_pace",), "or one of slow, fast"),
        (WIND, "gale", ("wind",), "one of none, light, strong"),
        (WIND, {}, ("wind", "strength"), "one of none, light, strong"),
        (WIND, {**LIGHT, "gusts": True}, ("wind", "gusts"), "one of strength, direction"),
        (WIND, {**LIGHT, "direction": "with"}, ("wind", "direction"), "a direction for north or south"),
        (WIND, {**LIGHT, "direction": {"north": "up"}}, ("wind", "direction", "north"), "with, against, cross"),
        (WIND, {**LIGHT, "direction": {"east": "with"}}, ("wind", "direction", "east"), "north, south"),
        (HEAT, {"air_c": 100}, ("heat", "air_c"), "a number from -30 to 60 in °C"),
        (HEAT, {"humidity": "wet"}, ("heat", "humidity"), "a number from 0 to 100 in %"),
    ],
)
def test_a_fault_of_a_profile_item_names_its_place(of, value, path, expected):
    (fault,) = profile_faults(of.key, value, of)
    assert fault.path == path
    assert expected in fault.expected


NAMES = st.sampled_from(["wide", "strength", "x"])
ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(NAMES, inner, max_size=2),
    max_leaves=4,
)
FIELDS = ["count", "of", "counts", "rating", "value", "amount", "seen", "wing", "set", "end"]


@given(
    posted=st.dictionaries(st.sampled_from(FIELDS), ANYTHING, max_size=4),
    value=ANYTHING,
    of=st.sampled_from([COUNT, SPOTS, BOUNCE, PAUSE, SIGN, BY_WING, WIND, HEAT, PACE]),
)
def test_anything_at_all_can_be_judged(posted, value, of):
    assert all(fault.expected for fault in [*faults(posted, of), *profile_faults("x", value, of)])
