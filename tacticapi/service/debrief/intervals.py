"""A share out of few tries, with the interval in which the true share probably lies."""

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist


@dataclass(frozen=True, slots=True)
class Share:
    """`won` of `of`, with the bounds of the interval; share and bounds are 0 to 1, None without any try."""

    won: int
    of: int
    share: float | None
    low: float | None
    high: float | None


def wilson(won: int, of: int, coverage: float) -> Share:
    """The share with its Wilson score interval (Wilson 1927, J. Am. Stat. Assoc. 22:209-212, from memory).

    coverage: how often the interval holds the true share, 0 to 1.
    """
    if of == 0:
        return Share(0, 0, None, None, None)
    z = NormalDist().inv_cdf((1.0 + coverage) / 2.0)
    share, spread = won / of, z * z / of
    middle = (share + spread / 2.0) / (1.0 + spread)
    half = z * sqrt(share * (1.0 - share) / of + spread / (4.0 * of)) / (1.0 + spread)
    return Share(won, of, share, middle - half if won else 0.0, middle + half if won < of else 1.0)
