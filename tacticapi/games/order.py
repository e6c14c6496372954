"""From a mix to the next serves: whole serves out of ten, in an order nobody can guess."""

from __future__ import annotations

import random
import secrets
from collections.abc import Mapping


def whole_serves(mix: Mapping[str, float], n: int = 10) -> dict[str, int]:
    """Split n serves over the spots by largest remainder (the earlier spot on equal remainders).

    `mix` holds shares of 0 or more that sum to 1, else ValueError.
    """
    if n < 0 or not mix or min(mix.values()) < 0 or abs(sum(mix.values()) - 1.0) > 1e-6:
        raise ValueError(f"{dict(mix)} over {n} serves: expected shares of 0 or more that sum to 1, and n of 0 or more")
    # shares that differ only by rounding errors are equal, or a tie would fall to noise
    exact = {spot: round(n * share, 9) for spot, share in mix.items()}
    whole = {spot: int(serves) for spot, serves in exact.items()}
    by_remainder = sorted(exact, key=lambda spot: whole[spot] - exact[spot])
    for spot in by_remainder[: n - sum(whole.values())]:
        whole[spot] += 1
    return whole


def next_ten(mix: Mapping[str, float], seed: int | str | None = None, n: int = 10) -> list[str]:
    """The spots of the next n serves, each as often as `whole_serves` says, shuffled.

    With a seed the order is the same every time; without one it comes from the operating system's randomness. Whoever
    counts along knows the last spot of such a list, so a new one should be drawn before the old one runs out.
    """
    order = [spot for spot, serves in whole_serves(mix, n).items() for _ in range(serves)]
    dice = secrets.SystemRandom() if seed is None else random.Random(seed)
    dice.shuffle(order)
    return order
