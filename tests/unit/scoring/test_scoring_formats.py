"""Formats, the sets they ask for, and when a tie-break is over (Rules of Tennis, Rule 5 and appendix V)."""

import pytest

from tacticapi.scoring.formats import Format, SetRule, TieBreak
from tacticapi.scoring.games_and_sets import tie_break_fork
from tacticapi.scoring.score import State

from ...scores import point_importance


def test_without_a_format_a_match_is_the_best_of_three_with_tie_break_sets():
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
def test_the_last_possible_set_may_follow_its_own_rule(sets, final_set, rule):
    fmt = Format.from_wire({"sets": sets, "final_set": final_set})
    assert fmt.set_rule(sets - 1) == rule
    assert all(fmt.set_rule(index) == SetRule(6, 6, TieBreak(7)) for index in range(sets - 1))


def test_short_sets_end_with_a_tie_break_to_five_unless_seven_is_said():
    assert Format(games=4).set_rule(0) == SetRule(4, 4, TieBreak(5, deciding_point=True))
    assert Format(games=4, tie_break_at=3).set_rule(0) == SetRule(4, 3, TieBreak(5, deciding_point=True))
    assert Format(games=4, tie_break_points=7).set_rule(0) == SetRule(4, 4, TieBreak(7))
    assert Format(games=4, final_set="tie-break-10").set_rule(2) == SetRule(4, 4, TieBreak(10))


SEVEN, SHORT = TieBreak(7), TieBreak(5, deciding_point=True)


@pytest.mark.parametrize(
    ("rule", "over", "open_", "neither"),
    [
        (SEVEN, [(7, 0), (7, 5), (8, 6), (12, 14)], [(0, 0), (6, 6), (7, 6), (12, 13)], [(8, 0), (8, 5), (13, 10)]),
        (SHORT, [(5, 0), (5, 3), (5, 4), (4, 5)], [(0, 0), (4, 4), (4, 0)], [(5, 5), (6, 4), (6, 5)]),
    ],
)
def test_a_tie_break_is_over_or_open_or_cannot_be(rule, over, open_, neither):
    for scores, last, in_progress in ((over, True, False), (open_, False, True), (neither, False, False)):
        for points in scores:
            assert (rule.is_last_score(points), not rule.is_over(points)) == (last, in_progress), points
    assert not SEVEN.is_last_score((9, 9))


def test_only_the_deciding_point_of_a_short_tie_break_decides_for_both():
    assert SHORT.is_deciding((4, 4))
    assert not any(SHORT.is_deciding(points) for points in ((3, 3), (4, 3), (3, 4)))
    assert not SEVEN.is_deciding((6, 6))
    fork = tie_break_fork(SHORT, (4, 4), 0.6, 0.3)
    assert (fork.now, fork.won, fork.lost) == (0.6, 1.0, 0.0)  # the first server serves after eight points
    fmt = Format(games=4)
    decides = point_importance(fmt, State(fmt, games=(4, 4), points=(4, 4), server="own"), 0.6, 0.3)
    assert (decides.game, decides.set) == (1.0, 1.0)
