"""What is kept as JSON comes back as it was."""

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.advice import Adviser
from tacticapi.club.codec import decode, encode
from tacticapi.domain.advice import Advice
from tacticapi.domain.situation import Moment, Observation, Situation
from tacticapi.seeds import demo_situation
from tacticapi.store import Snapshot


@dataclass(frozen=True, slots=True)
class Sample:
    """One of every sort of field."""

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


def through_json(value: Any) -> Any:
    return json.loads(json.dumps(encode(value)))


@given(SAMPLES)
def test_a_value_comes_back_as_it_was(sample: Sample) -> None:
    assert decode(Sample, through_json(sample)) == sample


@pytest.mark.parametrize("moment", ["before-match", "change-of-ends", "after-match"])
def test_situations_and_advice_come_back_as_they_were(
    moment: str, situation: Callable[..., Situation], adviser: Adviser
) -> None:
    asked = situation(**demo_situation(moment))
    advice = adviser.recommend(asked)
    assert decode(Situation, through_json(asked)) == asked
    assert decode(Advice, through_json(advice)) == advice
    assert adviser.recommend(decode(Situation, through_json(asked))) == advice


@pytest.mark.parametrize(
    "data",
    [
        {"index": "1", "what": "x", "way": "count"},
        {"index": 1, "what": "x", "way": "guess"},
        {"index": 1, "what": "x", "way": "count", "colour": 1},
        {"index": 1, "what": "x"},
        {"index": 1, "what": "x", "way": "count", "seen": 1},
        [],
        None,
    ],
)
def test_what_no_value_can_have_given_is_refused(data: Any) -> None:
    with pytest.raises((ValueError, TypeError)):
        decode(Observation, data)


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [
        ("shares", "0.5", "a list, not str"),
        ("named", [1], "an object, not list"),
        ("word", "half-time", "'half-time' is not a valid Moment"),
        ("time", "2026-05-01T09:00:00", "a time with its time zone"),
    ],
)
def test_a_field_that_no_value_can_have_given_is_told(name: str, value: Any, expected: str) -> None:
    sample = Sample(Moment.SET_BREAK, datetime(2026, 5, 1, 9, tzinfo=UTC), None, (0.5,), {"a": 1}, None)
    with pytest.raises((ValueError, TypeError), match=f"^{expected}$"):
        decode(Sample, {**through_json(sample), name: value})


def test_what_json_has_no_word_for_is_not_kept() -> None:
    with pytest.raises(TypeError, match=r"^no JSON for set$"):
        encode({"wings": {"forehand"}})


def within(old: Any, new: Any) -> bool:
    """Whether new JSON says what the old one says; objects may have more members, which later versions add."""
    if isinstance(old, dict):
        return isinstance(new, dict) and all(name in new and within(item, new[name]) for name, item in old.items())
    if isinstance(old, list):
        return isinstance(new, list) and len(old) == len(new) and all(map(within, old, new))
    return type(old) is type(new) and bool(old == new)


def test_a_snapshot_that_an_earlier_version_kept_is_read_and_written_as_it_was() -> None:
    kept = json.loads((Path(__file__).parent / "kept_snapshot.json").read_text(encoding="utf-8"))
    snapshot = decode(Snapshot, kept)
    again = replace(
        snapshot,
        situation=encode(decode(Situation, snapshot.situation)),
        advice=encode(decode(Advice, snapshot.advice)),
    )
    assert kept["situation"].pop("priors")  # of a model that is gone; so are these members of advice
    advice = kept["advice"]
    reasons = [reason for suggestion in advice["suggestions"] for reason in suggestion["because"]]
    advice["plan"] = {"verdict": advice["plan"], "why": ""}
    for items, gone in (
        ([advice], ["plan_why"]),
        (advice["suggestions"], ["gain"]),
        (reasons, ["trait", "wing", "log_odds"]),
        (advice["look_for"], ["trait"]),
    ):
        assert [item.pop(name) for item in items for name in gone]
    assert within(kept, through_json(again))


def test_advice_without_a_price_in_points_comes_back_without_one() -> None:
    """What was kept before tactics had a price says nothing of its worth."""
    kept = json.loads((Path(__file__).parent / "kept_snapshot.json").read_text(encoding="utf-8"))
    advice = decode(Advice, kept["advice"])
    assert advice.suggestions
    assert [suggestion.worth for suggestion in advice.suggestions] == [None] * len(advice.suggestions)
    assert {reason.points for suggestion in advice.suggestions for reason in suggestion.because} == {None}
    assert {look.decides for look in advice.look_for} == {()}
