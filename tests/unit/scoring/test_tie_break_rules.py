"""When a tie-break is over, decided by one point, or still open (Rules of Tennis, Rule 5 and appendix V)."""

from __future__ import annotations

import pytest

from tacticapi.scoring import Format, Pair, State, TieBreak, next_point, tie_break_outlook

from ...scores import point_importance

SEVEN, SHORT = TieBreak(7), TieBreak(5, deciding_point=True)


@pytest.mark.parametrize(
    ("rule", "over", "open_"),
    [
        (SEVEN, [(7, 0), (7, 5), (8, 6), (12, 14)], [(0, 0), (6, 6), (7, 6), (12, 13)]),
        (SHORT, [(5, 0), (5, 3), (5, 4), (4, 5)], [(0, 0), (4, 4), (4, 0)]),
    ],
)
def test_a_tie_break_is_over_or_open(rule: TieBreak, over: list[Pair], open_: list[Pair]) -> None:
    for points in over:
        assert (rule.is_over(points), rule.is_last_score(points), rule.is_open_score(points)) == (True, True, False)
    for points in open_:
        assert (rule.is_over(points), rule.is_last_score(points), rule.is_open_score(points)) == (False, False, True)


@pytest.mark.parametrize("points", [(8, 0), (8, 5), (9, 9), (13, 10)])
def test_no_tie_break_to_seven_ends_there(points: Pair) -> None:
    assert not SEVEN.is_last_score(points)


@pytest.mark.parametrize("points", [(5, 5), (6, 4), (6, 5)])
def test_no_short_tie_break_goes_past_its_deciding_point(points: Pair) -> None:
    assert not SHORT.is_last_score(points)
    assert not SHORT.is_open_score(points)


def test_only_the_deciding_point_of_a_short_tie_break_decides_for_both() -> None:
    assert SHORT.is_deciding((4, 4))
    assert not any(SHORT.is_deciding(points) for points in ((3, 3), (4, 3), (3, 4)))
    assert not SEVEN.is_deciding((6, 6))
    outlook = tie_break_outlook(SHORT, (4, 4), 0.6, 0.3)
    assert (outlook.now, outlook.won, outlook.lost) == (0.6, 1.0, 0.0)  # the first server serves after eight points
    fmt = Format(games=4)
    decides = point_importance(fmt, State(fmt, games=(4, 4), points=(4, 4), server="own"), 0.6, 0.3)
    assert (decides.game, decides.set) == (1.0, 1.0)


def test_nothing_is_left_to_play_in_a_decided_match() -> None:
    left = next_point(State(Format(), ((6, 4), (6, 4))))
    assert (left.server, left.courts, left.in_tie_break, left.deciding_point) == (None, (), False, False)
    assert (left.game_point, left.break_point, left.set_point, left.match_point) == ((), (), (), ())
