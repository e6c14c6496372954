"""The JSON Schema of a situation takes what the service takes and refuses what it refuses, kind by kind."""

from typing import Any

import jsonschema
import pytest
from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tacticapi.api.contract import situation_json_schema
from tacticapi.api.situations.observations import ObservationSchema
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Way
from tacticapi.knowledge import load
from tacticapi.service.facts import PROFILES
from tacticapi.service.posted import observation_faults

BEYOND = "at most the "  # how a part beyond its whole is told, which no JSON Schema can say
KINDS = [kind for kind in load().kinds.values() if kind.subject not in PROFILES]
NAMES = [name for name in ObservationSchema().fields if name != "what"]
NESTED = ["north", "wide", [], {}, {"wide": 2}, {"cross": 1, "line": 2}, "a" * 500, "a" * 501]
VALUES = st.sampled_from(
    [
        *NESTED,
        None,
        True,
        False,
        0,
        1,
        2,
        4,
        5,
        -1,
        0.5,
        3.0,
        10_000,
        10_001,
        "",
        "x",
        "WLW",
        "forehand",
        "deuce",
        "first",
    ]
)
Validator = jsonschema.Draft202012Validator


@pytest.fixture(scope="module")
def validator(app: Flask, rulebook: Rulebook) -> Validator:
    with app.app_context():
        return Validator(situation_json_schema(app, rulebook))


@st.composite
def observations(draw: st.DrawFn) -> dict[str, Any]:
    """Something posted for a kind: its own words as often as any others."""
    kind = draw(st.sampled_from(KINDS))
    own = st.sampled_from([*kind.options, *(kind.low, kind.high), 1, 2])
    posted = {name: draw(own | VALUES) for name in draw(st.sets(st.sampled_from(NAMES), max_size=4))}
    if draw(st.booleans()):
        way = draw(st.sampled_from(kind.ways))
        posted |= {Way.COUNT: {"count": 1, "of": 3}, Way.TEXT: {"note": "a word"}}.get(way, {way.value: draw(own)})
    return {"what": kind.id, **posted}


@settings(max_examples=1500, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(posted=observations())
def test_the_schema_judges_an_observation_as_the_service_does(
    validator: Validator, rulebook: Rulebook, posted: dict[str, Any]
) -> None:
    told = observation_faults(posted, rulebook)
    fits = validator.is_valid({"moment": "set-break", "observations": [posted]})
    if all(fault.expected.startswith(BEYOND) for fault in told):
        assert fits, posted
    else:
        assert not fits, (posted, told)


def test_every_kind_is_taken_in_each_of_its_ways(validator: Validator, rulebook: Rulebook) -> None:
    for kind in KINDS:
        qualifiers = {"wing": "forehand", "court": "ad", "serve": "first"}
        taken = {name: word for name, word in qualifiers.items() if name in kind.qualifiers}
        for way in kind.ways:
            posted = {"what": kind.id, **taken, **said(way, kind.options, kind.low)}
            assert observation_faults(posted, rulebook) == []
            assert validator.is_valid({"moment": "set-break", "observations": [posted]}), posted


def said(way: Way, options: Any, low: float | None) -> dict[str, Any]:
    return {
        Way.COUNT: {"count": 2, "of": 5},
        Way.COUNTS: {"counts": dict.fromkeys(options, 1)},
        Way.RATING: {"rating": 4},
        Way.VALUE: {"value": options[0] if options else None},
        Way.AMOUNT: {"amount": low or 1},
        Way.SEEN: {"seen": False},
        Way.TEXT: {"note": "a word"},
    }[way]


@pytest.mark.parametrize(
    ("change", "fits"),
    [
        ({"tries": [{"tactic": "keep-a-winning-game", "tried": 2, "won": 1}]}, True),
        ({"tries": [{"tactic": "no-such-tactic", "tried": 2, "won": 1}]}, False),
        ({"score": {"games": [3]}}, False),
        ({"score": {"sets": [None]}}, False),
        ({"score": {"points": ["forty", "0"]}}, False),
        ({"score": {"games": [6, 6], "points": ["11", "12"]}}, True),
    ],
)
def test_the_schema_knows_the_tactics_and_the_look_of_a_score(
    validator: Validator, app: Flask, change: dict[str, Any], fits: bool
) -> None:
    body = {"moment": "set-break", **change}
    assert validator.is_valid(body) is fits
    assert (app.test_client().post("/v1/suggestions", json=body).status_code == 200) is fits
