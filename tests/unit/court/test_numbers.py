"""The table of numbers: every one with its status and within its bounds, and mistakes in it told in plain words."""

import copy
from collections.abc import Mapping
from pathlib import Path

import yaml

from tacticapi.api.calculations.parts import MovementSchema, WhereSchema
from tacticapi.court.standing import spread_of, surface_of
from tacticapi.rulebook.checks import court_faults
from tacticapi.rulebook.entries import shape_mistakes
from tacticapi.rulebook.files import parse_document


def parts(node):
    if isinstance(node, Mapping):
        yield node
        for below in node.values():
            yield from parts(below)


def test_every_number_says_what_it_is_and_where_it_is_from(numbers):
    told = [part for part in parts(numbers) if "value" in part or "status" in part]
    assert len(told) > 30
    assert all(part["status"] in ("law", "published", "recomputed", "model default") for part in told)
    assert all(part["from"] for part in told if "value" in part)


def test_what_is_not_posted_is_as_usual(numbers):
    usual = numbers["movement"]["reaction_s"]["value"]
    mover = MovementSchema().load({"reach_m": 1.4, "reaction_s": None})
    assert (mover.reach, mover.reaction) == (1.4, usual)
    places = [WhereSchema().load({"air": air}) for air in (None, {"altitude_m": 2000})]
    assert places[0].surface == surface_of(numbers) == surface_of(numbers, "medium")
    assert places[1].density < places[0].density
    assert spread_of(numbers, serve=True).vertical < spread_of(numbers).vertical


def test_a_name_that_is_not_there_or_a_usual_value_outside_its_own_bounds_is_told(numbers):
    surfaces, levels = "slow, medium-slow, medium, medium-fast, fast", "beginner, intermediate, advanced, elite"
    wrong = copy.deepcopy({**numbers, "usual_surface": "ice", "usual_level": "deity"})
    wrong["movement"]["reach_m"]["value"] = 9
    told = {at: expected for at, _, expected in court_faults(wrong)}
    assert told.keys() == {("usual_surface",), ("usual_level",), ("movement", "reach_m", "value")}
    assert (told["usual_surface",], told["usual_level",]) == (f"one of {surfaces}", f"one of {levels}")


def test_a_number_without_a_status_is_told(numbers):
    wrong = copy.deepcopy(dict(numbers))
    del wrong["shot"]["height_m"]["status"]
    (mistake,) = shape_mistakes(parse_document(Path("court.yaml"), yaml.safe_dump(wrong)), "court")
    assert mistake.field == "/shot/height_m/status"
