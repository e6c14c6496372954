"""How often a sequence switches, against every order of the same serves: exact for any number of spots.

For two spots this is the runs test of Wald & Wolfowitz (1940, from memory). For more, words with b marked blocks are
counted (neighbouring blocks may share a spot) and the counts inverted: a word with r runs has C(n - r, b - r) ways to
be cut into b blocks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from math import comb


def runs(sequence: Sequence[Hashable]) -> int:
    """Number of runs: one more than the number of switches; 0 for an empty sequence."""
    return sum(a != b for a, b in pairwise(sequence)) + bool(sequence)


def runs_distribution(counts: Sequence[int]) -> dict[int, Fraction]:
    """P(number of runs), exact, over all orders of so many serves to each spot; empty counts are ignored.

    Raises ValueError if no count is positive.
    """
    filled = tuple(sorted(count for count in counts if count > 0))
    if not filled:
        raise ValueError("runs need at least one serve")
    return dict(_distribution(filled))


@lru_cache(maxsize=256)
def _distribution(counts: tuple[int, ...]) -> tuple[tuple[int, Fraction], ...]:
    n = sum(counts)
    blocks = _words_by_blocks(counts)
    words = [sum((-1) ** (r - b) * comb(n - b, r - b) * blocks[b] for b in range(r + 1)) for r in range(n + 1)]
    total = sum(words)
    return tuple((r, Fraction(number, total)) for r, number in enumerate(words) if number)


def _words_by_blocks(counts: tuple[int, ...]) -> list[int]:
    """Words with these counts and exactly b marked blocks, by b."""
    words = [1]
    for count in counts:
        longer = [0] * (len(words) + count)
        for before, number in enumerate(words):
            for own in range(1, count + 1):
                longer[before + own] += number * comb(before + own, own) * comb(count - 1, own - 1)
        words = longer
    return words


def runs_tails(sequence: Sequence[Hashable]) -> tuple[float, float]:
    """P(so few runs or fewer) and P(so many or more), over all orders of the same serves. Needs at least one serve."""
    seen = runs(sequence)
    chances = runs_distribution(tuple(Counter(sequence).values()))
    few = sum((p for r, p in chances.items() if r <= seen), Fraction(0))
    many = sum((p for r, p in chances.items() if r >= seen), Fraction(0))
    return float(few), float(many)
