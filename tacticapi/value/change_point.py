"""Did a share change between games, and when: exact sums over every game after which it may have changed.

Before the change and after it the counts are Beta-Binomial with shares of their own, without a change with one share
(textbook forms). That two shares can follow any counts is paid for by the Beta prior of the second. Priors are model
defaults.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betaln


@dataclass(frozen=True, slots=True)
class ChangePoint:
    """The chance that the share changed; the likeliest number of games before it; the shares before and since.

    The shares are posterior means if the change came there.
    """

    chance: float
    games_before: int
    before: float
    since: float


def change_point(games: Sequence[tuple[float, float]], prior: float, share: float, size: float) -> ChangePoint:
    """Read (hits, chances) game by game, oldest first, at least two games with 0 <= hits <= chances.

    `prior` is the chance of a change before anything is counted, each game equally likely; `share` and `size` are
    the Beta prior of every share. Raises ValueError for fewer than two games.
    """
    if len(games) < 2:
        raise ValueError(f"{len(games)} games: a change needs at least two")
    a, b = share * size, (1.0 - share) * size
    hits, chances = np.cumsum(np.array(games, dtype=np.float64), axis=0).T
    misses = chances - hits
    first = betaln(a + hits, b + misses)
    rest = betaln(a + hits[-1] - hits, b + misses[-1] - misses)
    none = betaln(a, b)
    log_bayes = (first + rest - none - first[-1])[:-1]  # change after each game against no change at all
    top = log_bayes.max()
    change = prior * np.exp(log_bayes - top).mean()
    chance = float(change / (change + (1.0 - prior) * np.exp(-top)))
    at = int(np.argmax(log_bayes))
    before = (a + hits[at]) / (size + chances[at])
    since = (a + hits[-1] - hits[at]) / (size + chances[-1] - chances[at])
    return ChangePoint(chance, at + 1, float(before), float(since))
