"""Formats as a request states them, and the sets they ask for."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tacticapi.scoring import Format, ScoreError, SetRule, TieBreak


def test_without_a_format_a_match_is_the_best_of_three_with_tie_break_sets() -> None:
    fmt = Format.from_wire(None)
    assert fmt == Format.from_wire({}) == Format()
    assert fmt.sets_to_win == 2
    assert fmt.set_rule(0) == fmt.set_rule(2) == SetRule(6, 6, TieBreak(7))


@pytest.mark.parametrize(
    ("final_set", "rule"),
    [
        ("tie-break-7", SetRule(6, 6, TieBreak(7))),
        ("tie-break-10", SetRule(6, 6, TieBreak(10))),
        ("advantage", SetRule(6, None, None)),
        ("match-tie-break-7", SetRule(0, 0, TieBreak(7))),
        ("match-tie-break-10", SetRule(0, 0, TieBreak(10))),
    ],
)
@pytest.mark.parametrize("sets", [1, 3, 5])
def test_the_last_possible_set_may_follow_its_own_rule(sets: int, final_set: str, rule: SetRule) -> None:
    fmt = Format.from_wire({"sets": sets, "final_set": final_set})
    assert fmt.set_rule(sets - 1) == rule
    assert all(fmt.set_rule(index) == SetRule(6, 6, TieBreak(7)) for index in range(sets - 1))


def test_the_last_set_is_like_the_others_unless_it_is_said() -> None:
    assert Format(set="advantage").set_rule(2) == SetRule(6, None, None)


def test_short_sets_end_with_a_tie_break_to_five_unless_seven_is_said() -> None:
    assert Format(games=4).set_rule(0) == SetRule(4, 4, TieBreak(5, deciding_point=True))
    assert Format(games=4, tie_break_at=3).set_rule(0) == SetRule(4, 3, TieBreak(5, deciding_point=True))
    assert Format(games=4, tie_break_points=7).set_rule(0) == SetRule(4, 4, TieBreak(7))
    assert Format(games=4, final_set="tie-break-10").set_rule(2) == SetRule(4, 4, TieBreak(10))


def test_who_serves_first_matters_only_with_a_deciding_point_in_a_tie_break() -> None:
    assert Format(games=4).serving_first_matters
    assert not Format(no_ad=True).serving_first_matters
    assert not Format(games=4, tie_break_points=7).serving_first_matters
    assert not Format(sets=1, games=4, final_set="match-tie-break-10").serving_first_matters


def test_every_fault_of_a_format_is_named_at_once() -> None:
    wire: dict[str, Any] = {
        "sets": 2, "games": True, "tie_break_at": 8, "set": "pro", "final_set": ["advantage"], "no_ad": "yes",
        "tie_break_points": 10, "tie_break_ends": "never", "lets": False,
    }  # fmt: skip
    with pytest.raises(ScoreError) as refused:
        Format.from_wire(wire)
    faults = {fault.path[0]: fault for fault in refused.value.faults}
    assert set(faults) == set(wire)
    assert all(fault.value == wire[str(name)] for name, fault in faults.items())
    assert faults["sets"].expected == "one of 1, 3, 5"
    assert "tie_break_at" in faults["lets"].expected


@pytest.mark.parametrize("wire", [[], "best of three", 3])
def test_a_format_is_an_object(wire: Any) -> None:
    with pytest.raises(ScoreError, match="an object"):
        Format.from_wire(wire)


@pytest.mark.parametrize("fmt", [Format(), Format(sets=5, games=4, no_ad=True), Format(set="advantage")])
def test_a_format_reads_back_what_it_writes(fmt: Format) -> None:
    assert Format.from_wire(fmt.to_wire()) == fmt
    assert hash(Format.from_wire(fmt.to_wire())) == hash(fmt)


def test_a_format_is_written_with_every_default_filled_in() -> None:
    assert Format().to_wire() == {
        "sets": 3, "games": 6, "tie_break_at": 6, "set": "tie-break-7", "final_set": "tie-break-7", "no_ad": False,
        "tie_break_points": 7, "tie_break_ends": "every-6",
    }  # fmt: skip
    assert Format(set="advantage", games=4).to_wire()["final_set"] == "advantage"
    assert Format(games=4).to_wire()["tie_break_points"] == 5
    assert Format() == Format(tie_break_at=6, final_set="tie-break-7", tie_break_points=7)


def test_a_copied_format_follows_its_changed_fields() -> None:
    assert replace(Format(), final_set="match-tie-break-10").set_rule(2).is_match_tie_break
