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


@pytest.mark.parametrize(
    ("posted", "of"),
    [
        ({"count": 5, "of": 8}, COUNT),
        ({"count": 0, "of": 0}, COUNT),
        ({"count": 5.0, "of": 8, "rating": None, "set": 1, "game": 3, "end": "north"}, COUNT),
        ({"rating": 4}, COUNT),
        ({"counts": {"wide": 6, "T": 0}}, SPOTS),
        ({"value": "hip"}, BOUNCE),
        ({"amount": 38.5}, PAUSE),
        ({"seen": False}, SIGN),
        ({"count": 1, "of": 2, "wing": "backhand", "serve": "second"}, BY_WING),
        ({"note": "moved the return spot"}, kind(Way.TEXT)),
    ],
)
def test_what_its_kind_allows_has_no_fault(posted, of):
    assert faults(posted, of) == []


@pytest.mark.parametrize(
    ("posted", "of", "path", "expected"),
    [
        ({}, COUNT, (), "one form: count or rating"),
        ({"count": 5}, COUNT, ("of",), "the number of chances"),
        ({"count": 5, "of": None}, COUNT, ("of",), "the number of chances"),
        ({"count": 9, "of": 8}, COUNT, ("count",), "at most the 8 chances"),
        ({"count": -1, "of": 8}, COUNT, ("count",), "a whole number from 0"),
        ({"count": 1.5, "of": 8}, COUNT, ("count",), "a whole number from 0"),
        ({"count": True, "of": 8}, COUNT, ("count",), "a whole number from 0"),
        ({"count": 1, "of": 10_001}, COUNT, ("of",), "to 10,000"),
        ({"count": 1, "of": 10**400}, COUNT, ("of",), "to 10,000"),
        ({"count": 1, "of": 2, "rating": 3}, COUNT, ("rating",), "one form, not several"),
        ({"rating": 3, "of": 2}, COUNT, ("of",), "`of` only with `count`"),
        ({"rating": 5}, COUNT, ("rating",), "a whole number from 0 to 4"),
        ({"rating": "good"}, COUNT, ("rating",), "a whole number from 0 to 4"),
        ({"seen": True}, COUNT, ("seen",), "another form: count or rating"),
        ({"counts": {"line": 1}}, SPOTS, ("counts", "line"), "one of wide, body, T"),
        ({"counts": {"T": -1}}, SPOTS, ("counts", "T"), "a whole number from 0"),
        ({"counts": {}}, SPOTS, ("counts",), "chances by option"),
        ({"counts": [1]}, SPOTS, ("counts",), "chances by option"),
        ({"value": "knee"}, BOUNCE, ("value",), "one of hip, shoulder"),
        ({"value": ["hip"]}, BOUNCE, ("value",), "one of hip, shoulder"),
        ({"amount": 601}, PAUSE, ("amount",), "a number from 0 to 600 in s"),
        ({"amount": math.nan}, PAUSE, ("amount",), "a number from 0 to 600 in s"),
        ({"seen": "yes"}, SIGN, ("seen",), "true or false"),
        ({"count": 1, "of": 2}, BY_WING, ("wing",), "one of forehand, backhand"),
        ({"count": 1, "of": 2, "wing": "left"}, BY_WING, ("wing",), "one of forehand, backhand"),
        ({"seen": True, "wing": "forehand"}, SIGN, ("wing",), "takes none"),
        ({"seen": True, "set": 0}, SIGN, ("set",), "a whole number from 1"),
        ({"seen": True, "game": "first"}, SIGN, ("game",), "a whole number from 1"),
        ({"seen": True, "end": "left"}, SIGN, ("end",), "one of north, south"),
    ],
)
def test_a_fault_names_its_place_and_what_was_expected(posted, of, path, expected):
    (fault,) = faults(posted, of)
    assert fault.path == path
    assert expected in fault.expected


def test_all_faults_are_told_at_once():
    assert {fault.path for fault in faults({"count": 9, "of": 8, "court": "ad", "set": 0}, COUNT)} == {
        ("count",),
        ("court",),
        ("set",),
    }


WIND = kind(Way.VALUE, id="context.wind", options=("none", "light", "strong"))
HEAT = kind(Way.VALUE, id="context.heat", options=("cool", "hot"))
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
    ("value", "of", "path", "expected"),
    [
        (5, PACE, ("court_pace",), "a rating: a whole number from 0 to 4 or one of slow, fast"),
        ({"slow": 1}, PACE, ("court_pace",), "or one of slow, fast"),
        ("gale", WIND, ("wind",), "one of none, light, strong"),
        ({}, WIND, ("wind", "strength"), "one of none, light, strong"),
        ({"strength": "light", "gusts": True}, WIND, ("wind", "gusts"), "one of strength, direction"),
        ({"strength": "light", "direction": "with"}, WIND, ("wind", "direction"), "a direction for north or south"),
        (
            {"strength": "light", "direction": {"north": "up"}},
            WIND,
            ("wind", "direction", "north"),
            "with, against, cross",
        ),
        ({"strength": "light", "direction": {"east": "with"}}, WIND, ("wind", "direction", "east"), "north, south"),
        ({"air_c": 100}, HEAT, ("heat", "air_c"), "a number from -30 to 60 in °C"),
        ({"humidity": "wet"}, HEAT, ("heat", "humidity"), "a number from 0 to 100 in %"),
    ],
)
def test_a_fault_of_a_profile_item_names_its_place(value, of, path, expected):
    (fault,) = profile_faults(of.key, value, of)
    assert fault.path == path
    assert expected in fault.expected


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=2) | st.dictionaries(st.sampled_from(["wide", "strength", "x"]), inner, max_size=2)
    ),
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
