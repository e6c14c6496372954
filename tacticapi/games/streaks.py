"""What follows a serve to a spot, with the bias of counting after streaks taken out.

In a finite sequence the share of hits that follow a hit is below the share of hits even if order is pure chance: 5/12,
not 1/2, in three flips of a fair coin (Miller & Sanjurjo 2018, Econometrica 86:2019-2047). Given m hits among n, every
order being as likely, it is (m - 1) / (n - 1) on average over the orders in which a hit is followed by anything.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import comb


@dataclass(frozen=True, slots=True)
class ShareAfter:
    """How often `spot` followed itself: `again` out of `of` serves that came right after one to it.

    `share` is again / of (None if of is 0), `by_chance` its mean over all orders of the same serves (None likewise),
    `p_value` two-sided and exact: twice the smaller tail of the number of repeats over all those orders, at most 1.
    """

    spot: str
    again: int
    of: int
    share: float | None
    by_chance: float | None
    p_value: float


def share_after(sequence: Sequence[str], spot: str) -> ShareAfter:
    """How often a serve to `spot` was followed by another, against chance. Serves in the order played."""
    followers = [after == spot for before, after in pairwise(sequence) if before == spot]
    again, hits, n = sum(followers), list(sequence).count(spot), len(sequence)
    defined = bool(followers)
    return ShareAfter(
        spot,
        again,
        len(followers),
        again / len(followers) if defined else None,
        (hits - 1) / (n - 1) if defined else None,
        _two_sided(again, hits, n),
    )


def _two_sided(again: int, hits: int, n: int) -> float:
    if not hits:
        return 1.0
    # hits in r runs hold hits - r repeats; the runs go into the n - hits + 1 gaps between the other serves
    ways = {hits - r: comb(hits - 1, r - 1) * comb(n - hits + 1, r) for r in range(1, hits + 1)}
    few = sum(number for repeats, number in ways.items() if repeats <= again)
    many = sum(number for repeats, number in ways.items() if repeats >= again)
    return min(1.0, 2 * min(few, many) / comb(n, hits))
