"""Judge whether a sequence of serves is predictable: a favourite spot, or switching too often or too rarely.

Championship players were found to switch too often (Walker & Wooders 2001, American Economic Review 91:1521-1538;
abstract seen). The runs test compares how often a sequence switches with all orders of the same serves (with two spots,
the test of Wald & Wolfowitz 1940, from memory); a word with r runs can be cut into b blocks in C(n - r, b - r) ways.
Streaks: given m hits among n in any order, the share of hits that follow a hit is (m - 1) / (n - 1) on average (Miller
& Sanjurjo 2018, Econometrica 86:2019-2047).
"""

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import count, pairwise
from math import comb
from typing import Final, Literal

from scipy.special import bdtrc

Kind = Literal["too-few", "no-sign", "favourite", "switches-too-often", "switches-too-seldom"]

LEVEL: Final = 0.05
_TESTS: Final = 2  # favourite and switching, both tested on the same serves


def runs(sequence: Sequence[Hashable]) -> int:
    """Return the number of runs: one more than the number of switches; 0 for an empty sequence."""
    return sum(a != b for a, b in pairwise(sequence)) + bool(sequence)


def runs_distribution(counts: Sequence[int]) -> dict[int, Fraction]:
    """Return the exact P(number of runs) over all orders of these serves to each spot; zero counts are ignored."""
    return dict(_distribution(tuple(sorted(count for count in counts if count > 0))))


@lru_cache(maxsize=256)
def _distribution(counts: tuple[int, ...]) -> tuple[tuple[int, Fraction], ...]:
    n = sum(counts)
    blocks = _words_by_blocks(counts)
    words = [sum((-1) ** (r - b) * comb(n - b, r - b) * blocks[b] for b in range(r + 1)) for r in range(n + 1)]
    total = sum(words)
    return tuple((r, Fraction(number, total)) for r, number in enumerate(words) if number)


def _words_by_blocks(counts: tuple[int, ...]) -> list[int]:
    """Return the number of words with these counts and exactly b marked blocks, by b."""
    words = [1]
    for size in counts:
        longer = [0] * (len(words) + size)
        for before, number in enumerate(words):
            for own in range(1, size + 1):
                longer[before + own] += number * comb(before + own, own) * comb(size - 1, own - 1)
        words = longer
    return words


def runs_tails(sequence: Sequence[Hashable]) -> tuple[float, float]:
    """Return P(at most this many runs) and P(at least this many), over all orders of the same serves (at least one)."""
    seen = runs(sequence)
    chances = runs_distribution(tuple(Counter(sequence).values()))
    few = sum((p for r, p in chances.items() if r <= seen), Fraction(0))
    many = sum((p for r, p in chances.items() if r >= seen), Fraction(0))
    return float(few), float(many)


@dataclass(frozen=True, slots=True)
class ShareAfter:
    """How often `spot` followed itself: `again` of `of`. `by_chance`: mean share over all orders (None if `of` is 0).

    `p_value` is exact and two-sided: twice the smaller tail of the number of repeats over all orders, at most 1.
    """

    spot: str
    again: int
    of: int
    share: float | None
    by_chance: float | None
    p_value: float


def share_after(sequence: Sequence[str], spot: str) -> ShareAfter:
    """Return how often a serve to `spot` was followed by another there, compared with chance; serves in order."""
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


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdict on `served` serves; any kind except too-few and no-sign means a p-value below 0.05 (Bonferroni).

    `needed` is the smallest number of serves whose most extreme sequence could reach that level, and
    `needed_for_switching` the same for switching alone (None: not tested). `spot` is the favourite.
    """

    kind: Kind
    p_value: float
    served: int
    needed: int
    needed_for_switching: int | None = None
    spot: str | None = None


def judge_sequence(sequence: Sequence[str], expected: Mapping[str, float]) -> Verdict:
    """Judge serves on one side of the court, in the order played.

    `expected`: the share that each spot should get (above 0, summing to 1). A favourite exceeds its share (binomial
    upper tail); switching is compared with all orders of the same serves, two-sided.
    """
    served = len(sequence)
    for_switching = _needed_for_switching(len(expected), LEVEL / _TESTS)
    needed = min(for_switching, _needed_for_favourite(expected, LEVEL / _TESTS))
    if not served:
        return Verdict("too-few", 1.0, 0, needed, for_switching)
    spot, favourite = _favourite(sequence, expected)
    few, many = runs_tails(sequence)
    switching = min(1.0, 2.0 * min(few, many))
    p_value = min(1.0, _TESTS * min(favourite, switching))
    if p_value >= LEVEL:
        return Verdict("too-few" if served < needed else "no-sign", p_value, served, needed, for_switching)
    if favourite <= switching:
        return Verdict("favourite", p_value, served, needed, for_switching, spot)
    kind: Kind = "switches-too-often" if many < few else "switches-too-seldom"
    return Verdict(kind, p_value, served, needed, for_switching)


def judge_by_score(
    sequence: Sequence[str], scores: Sequence[str | None], expected: Mapping[str, float]
) -> dict[str, Verdict]:
    """Look for a favourite at each score tag (None: no tag); p-values are corrected for the number of tags."""
    at: dict[str, list[str]] = {}
    for spot, score in zip(sequence, scores, strict=True):
        if score is not None:
            at.setdefault(score, []).append(spot)
    return {score: _judge_favourite(spots, expected, len(at)) for score, spots in at.items()}


def _judge_favourite(spots: Sequence[str], expected: Mapping[str, float], questions: int) -> Verdict:
    needed = _needed_for_favourite(expected, LEVEL / questions)
    spot, p_value = _favourite(spots, expected)
    p_value = min(1.0, questions * p_value)
    if p_value < LEVEL:
        return Verdict("favourite", p_value, len(spots), needed, spot=spot)
    return Verdict("too-few" if len(spots) < needed else "no-sign", p_value, len(spots), needed)


def _favourite(sequence: Sequence[str], expected: Mapping[str, float]) -> tuple[str, float]:
    """Return the spot that exceeds its share most, and its p-value corrected for the number of spots."""
    served = Counter(sequence)
    tails = {spot: float(bdtrc(served[spot] - 1, len(sequence), share)) for spot, share in expected.items()}
    spot = min(tails, key=lambda name: tails[name])
    return spot, min(1.0, len(expected) * tails[spot])


def _needed_for_favourite(expected: Mapping[str, float], level: float) -> int:
    rarest = min(expected.values())
    return next(n for n in count(1) if len(expected) * rarest**n < level)


@lru_cache(maxsize=32)
def _needed_for_switching(spots: int, level: float) -> int:
    # Even counts allow the most orders, so the most extreme order is rarest among them.
    def rarest(n: int, used: int) -> float:
        chances = runs_distribution([n // used + (place < n % used) for place in range(used)])
        return float(min(chances[min(chances)], chances[max(chances)]))

    return next(n for n in count(2) if any(2.0 * rarest(n, used) < level for used in range(2, spots + 1)))
