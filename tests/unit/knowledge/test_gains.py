"""Gains from simulation stand beside the tactics; a house's own gain stands before them."""

from dataclasses import replace
from pathlib import Path

import pytest

from tacticapi.domain.rules import Fitted
from tacticapi.domain.situation import Wing
from tacticapi.knowledge import load
from tacticapi.knowledge.gains import named, with_gains
from tacticapi.knowledge.house import with_house_rules

from .conftest import mistakes_of, write

LINE = {"base": -0.01, "open": 0.02, "beliefs": {"weak_low_ball/backhand": 0.03}, "strokes": {"slice_backhand": 0.004}}
NAME = "low-slice-to-low-ball-weakness"


@pytest.fixture(scope="module")
def tactics():
    book = load()
    return {name: replace(t, effect=replace(t.effect, fitted={})) for name, t in book.tactics.items()}


def test_a_line_prices_its_tactic_at_its_wing(tactics):
    effect = with_gains(tactics, {f"{NAME}/backhand": LINE})[NAME].effect
    assert effect.aimed_at(Wing.BACKHAND) == Fitted(
        -0.01, 0.02, {("weak_low_ball", Wing.BACKHAND): 0.03}, {"slice_backhand": 0.004}
    )
    assert effect.aimed_at(None) == effect.aimed_at(Wing.BACKHAND)


def test_a_gain_of_the_house_stands_in_the_place_of_the_one_from_simulation(tactics):
    priced = with_gains(tactics, {f"{NAME}/backhand": LINE})
    weighed = with_house_rules(priced, [{"reweight": {NAME: {"gain": 0.05}}}])[NAME].effect
    assert (weighed.gain, weighed.fitted) == (0.05, {})
    shared = with_house_rules(priced, [{"reweight": {NAME: {"share": 0.4}}}])[NAME].effect
    assert shared.fitted == priced[NAME].effect.fitted


@pytest.mark.parametrize(
    ("name", "parts"), [("some-tactic", ("some-tactic", None)), ("a/forehand", ("a", Wing.FOREHAND))]
)
def test_a_name_may_hold_a_wing(name, parts):
    assert named(name) == parts


@pytest.mark.parametrize(
    ("line", "field", "expected"),
    [
        ("id: kick-it-low", "/gains/0/id", "a known tactic"),
        ("id: kick-it-high, beliefs: {left_foot: 0.1}", "/gains/0/beliefs/left_foot",
         "a known trait, with its wing where it has one"),
        ("id: kick-it-high, beliefs: {weak_high_ball: 0.1}", "/gains/0/beliefs/weak_high_ball",
         "a known trait, with its wing where it has one"),
        ("id: kick-it-high, beliefs: {predictable_serve/backhand: 0.1}", "/gains/0/beliefs/predictable_serve~1backhand",
         "a known trait, with its wing where it has one"),
        ("id: kick-it-high, strokes: {tweener: 0.1}", "/gains/0/strokes/tweener", "a known own stroke"),
    ],
)  # fmt: skip
def test_a_line_names_what_exists(rules: Path, line: str, field: str, expected: str) -> None:
    write(rules, "gains.yaml", f"gains:\n  - {{{line}, base: 0.0, open: 0.0}}\n")
    assert [(m.line, m.field, m.expected) for m in mistakes_of(rules)] == [(2, field, expected)]


def test_a_line_without_its_tactic_prices_nothing_where_names_are_not_looked_up(rules: Path) -> None:
    before = load([rules]).tactics
    write(rules, "gains.yaml", "gains:\n  - {id: kick-it-low, base: 0.01, open: 0.0}\n")
    assert load([rules], strict=False).tactics == before
