"""The table of numbers: every one with its status and within its bounds, and mistakes in it told in plain words."""

import copy
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
import yaml

from tacticapi.court.numbers import mover_of, place_of, spread_of, surface_of
from tacticapi.rulebook.checks import court_faults
from tacticapi.rulebook.entries import shape_mistakes
from tacticapi.rulebook.files import parse_document


def parts(node: Any) -> Iterator[Mapping[str, Any]]:
    if isinstance(node, Mapping):
        yield node
        for below in node.values():
            yield from parts(below)


def test_every_number_says_what_it_is_and_where_it_is_from(numbers):
    told = [part for part in parts(numbers) if "value" in part or "status" in part]
    assert len(told) > 40
    assert all(part["status"] in ("law", "published", "recomputed", "model default") for part in told)
    assert all(part["from"] for part in told if "value" in part)


def test_what_is_not_posted_is_as_usual(numbers):
    assert mover_of(numbers, {"reach_m": 1.4, "reaction_s": None}).reach == 1.4
    assert mover_of(numbers).reaction == numbers["movement"]["reaction_s"]["value"]
    assert place_of(numbers).surface == surface_of(numbers, "medium")
    assert place_of(numbers, {"altitude_m": 2000}).density < place_of(numbers).density
    assert spread_of(numbers, serve=True).vertical < spread_of(numbers).vertical


@pytest.mark.parametrize(
    ("place", "value", "expected"),
    [
        ("usual_surface", "ice", "one of slow, medium-slow, medium, medium-fast, fast"),
        ("usual_level", "deity", "one of beginner, intermediate, advanced, elite"),
    ],
)
def test_a_name_that_is_not_there_is_told(numbers, place, value, expected):
    wrong = {**copy.deepcopy(dict(numbers)), place: value}
    assert [(at, told) for at, _, told in court_faults(wrong)] == [((place,), expected)]


def test_a_usual_value_outside_its_own_bounds_is_told(numbers):
    wrong = copy.deepcopy(dict(numbers))
    wrong["movement"]["reach_m"]["value"] = 9
    assert [at for at, _, _ in court_faults(wrong)] == [("movement", "reach_m", "value")]


def test_a_number_without_a_status_is_told(numbers):
    wrong = copy.deepcopy(dict(numbers))
    del wrong["lob"]["over_m"]["status"]
    (mistake,) = shape_mistakes(parse_document(Path("court.yaml"), yaml.safe_dump(wrong)), "court")
    assert mistake.field == "/lob/over_m/status"
