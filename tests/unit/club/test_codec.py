"""What is kept as JSON comes back as it was."""

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.club.codec import decode, encode
from tacticapi.domain.advice import Advice
from tacticapi.domain.situation import Moment, Observation, Situation
from tacticapi.seeds import demo_situation


@dataclass(frozen=True, slots=True)
class Sample:
    word: Moment
    time: datetime
    day: date | None
    shares: tuple[float, ...]
    named: dict[str, int]
    free: Any


SAMPLES = st.builds(
    Sample,
    word=st.sampled_from(Moment),
    time=st.datetimes(timezones=st.just(UTC)),
    day=st.none() | st.dates(),
    shares=st.lists(st.floats(allow_nan=False, allow_infinity=False)).map(tuple),
    named=st.dictionaries(st.text(), st.integers()),
    free=st.recursive(st.none() | st.booleans() | st.integers() | st.text(), st.lists, max_leaves=5),
)


def through_json(value):
    return json.loads(json.dumps(encode(value)))


@given(SAMPLES)
def test_a_value_comes_back_as_it_was(sample):
    assert decode(Sample, through_json(sample)) == sample


@pytest.mark.parametrize("moment", ["before-match", "change-of-ends", "after-match"])
def test_situations_and_advice_come_back_as_they_were(moment, situation, adviser):
    asked = situation(**demo_situation(moment))
    advice = adviser.recommend(asked, profile=True)
    assert decode(Situation, through_json(asked)) == asked
    assert decode(Advice, through_json(advice)) == advice
    assert adviser.recommend(decode(Situation, through_json(asked)), profile=True) == advice


COUNTED = {"index": 1, "what": "x", "way": "count"}


@pytest.mark.parametrize(
    "data",
    [{**COUNTED, "index": "1"}, {**COUNTED, "way": "guess"}, {**COUNTED, "colour": 1}, {**COUNTED, "seen": 1},
     {"index": 1, "what": "x"}, [], None],
)  # fmt: skip
def test_what_no_value_can_have_given_is_refused(data):
    with pytest.raises((ValueError, TypeError)):
        decode(Observation, data)


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [
        ("shares", "0.5", "a list, not str"),
        ("named", [1], "an object, not list"),
        ("word", "half-time", "'half-time' is not a valid Moment"),
    ],
)
def test_a_field_that_no_value_can_have_given_is_told(name, value, expected):
    sample = Sample(Moment.SET_BREAK, datetime(2026, 5, 1, 9, tzinfo=UTC), None, (0.5,), {"a": 1}, None)
    with pytest.raises((ValueError, TypeError), match=f"^{expected}$"):
        decode(Sample, {**through_json(sample), name: value})
