"""The chance of a game: a race to four points in which one player serves throughout."""

from __future__ import annotations

from typing import Final

from tacticapi.scoring.race import Chance, Outlook, by_two, deuce, race
from tacticapi.scoring.sides import Pair
from tacticapi.scoring.state import FORTY

POINTS_TO_WIN: Final = FORTY + 1


def game_chance(p: Chance, *, no_ad: bool = False) -> Chance:
    """Chance of a game from 0-0 for whoever wins each of its points with chance `p`, serving or not.

    p^4 (1 + 4q + 10q^2) + 20 p^3 q^3 D with D = p^2 / (p^2 + q^2) at deuce, or p for a deciding point
    (Carter & Crews 1974; Newton & Keller 2005; O'Malley 2008: from memory, recomputed in exact fractions).
    """
    q = 1.0 - p
    at_deuce = p if no_ad else deuce(p, p)
    cube = p * p * p
    return cube * (p * (1.0 + q * (4.0 + 10.0 * q)) + 20.0 * q * q * q * at_deuce)


def game_outlook(p: Chance, points: Pair = (0, 0), *, no_ad: bool = False) -> Outlook:
    """The outlook of a game from `points` (own, opponent; 3 is 40), own winning each point with chance `p`."""
    if min(points) >= FORTY:
        return Outlook(p, 1.0, 0.0) if no_ad else by_two(points[0] - points[1], p, p, deuce(p, p))
    at_deuce = p if no_ad else deuce(p, p)
    return race(POINTS_TO_WIN, points, [p] * (2 * FORTY), at_deuce)
