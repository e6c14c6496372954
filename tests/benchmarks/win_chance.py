"""How much faster one vectorised call prices many pairs of point chances than a plain recursion for each pair.

Run: python tests/benchmarks/win_chance.py. Prints milliseconds and the ratio for several scores of a best of three;
ends with status 1 if any ratio falls below the floor, or if the two routes disagree.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import cache, partial
from time import perf_counter

import numpy as np

from tacticapi.scoring.formats import Format
from tacticapi.scoring.match import MatchModel
from tacticapi.scoring.score import State

PAIRS = 1000
FLOOR = 100.0
AGREE = 1e-12
REPEATS = 20

SCORES = (
    ((), (0, 0), (0, 0), "own"),
    ((), (2, 3), (1, 3), "opponent"),
    (((6, 4),), (2, 3), (1, 2), "opponent"),
    (((6, 4), (4, 6)), (5, 6), (3, 4), "own"),
    (((6, 4), (4, 6)), (6, 6), (5, 2), "own"),
)


def win_chance(fmt: Format, state: State, serve: np.ndarray, ret: np.ndarray) -> np.ndarray:
    """Own's chance of winning the match, for every pair of point chances at once."""
    return np.asarray(MatchModel(fmt, serve, ret).at(state).match.now)


def plain_game(p: float) -> Callable[[int, int], float]:
    """The chance of a game from its points, for a player who wins each of them with chance p."""

    @cache
    def game(own: int, opponent: int) -> float:
        if max(own, opponent) >= 4 and abs(own - opponent) >= 2:
            return float(own > opponent)
        if own == opponent == 3:
            return p * p / (p * p + (1 - p) * (1 - p))
        if own == opponent == 4:
            return game(3, 3)
        return p * game(own + 1, opponent) + (1 - p) * game(own, opponent + 1)

    return game


def plain_tie_break(serve: float, ret: float) -> Callable[[int, int, bool], float]:
    """The chance of a tie-break to 7 from its points and whether own served first."""

    @cache
    def tie_break(own: int, opponent: int, own_first: bool) -> float:
        if max(own, opponent) >= 7 and abs(own - opponent) >= 2:
            return float(own > opponent)
        if own == opponent >= 6:
            return serve * ret / (serve * ret + (1 - serve) * (1 - ret))
        own_serves = (((own + opponent + 1) // 2) % 2 == 0) == own_first
        p = serve if own_serves else ret
        return p * tie_break(own + 1, opponent, own_first) + (1 - p) * tie_break(own, opponent + 1, own_first)

    return tie_break


def plain_chance(state: State, serve: float, ret: float) -> float:
    """Own's chance of a best of three with tie-break sets, by memoised recursion over games, sets and the match."""
    games, tie_break = {True: plain_game(serve), False: plain_game(ret)}, plain_tie_break(serve, ret)

    @cache
    def one_set(own: int, opponent: int, own_serves: bool) -> float:
        if (max(own, opponent) >= 6 and abs(own - opponent) >= 2) or 7 in (own, opponent):
            return float(own > opponent)
        if own == opponent == 6:
            return tie_break(0, 0, own_serves)
        p = games[own_serves](0, 0)
        return p * one_set(own + 1, opponent, not own_serves) + (1 - p) * one_set(own, opponent + 1, not own_serves)

    @cache
    def match(own: int, opponent: int) -> float:
        if 2 in (own, opponent):
            return float(own > opponent)
        p = one_set(0, 0, True)
        return p * match(own + 1, opponent) + (1 - p) * match(own, opponent + 1)

    own_serves = state.server == "own"
    if state.in_tie_break:
        won = tie_break(*state.points, state.first_server_of_game == "own")
        set_won, set_lost = 1.0, 0.0
    else:
        won = games[own_serves](*state.points)
        set_won = one_set(state.games[0] + 1, state.games[1], not own_serves)
        set_lost = one_set(state.games[0], state.games[1] + 1, not own_serves)
    this_set = won * set_won + (1 - won) * set_lost
    own, opponent = state.sets_won
    return this_set * match(own + 1, opponent) + (1 - this_set) * match(own, opponent + 1)


def price_one_by_one(priced: list[float], state: State, serve: list[float], ret: list[float]) -> None:
    """Fill `priced` with the plain chance of every pair."""
    priced.extend(plain_chance(state, *pair) for pair in zip(serve, ret, strict=True))


def milliseconds(work: Callable[[], object], repeats: int) -> float:
    """The shortest of several runs, in milliseconds."""
    times = []
    for _ in range(repeats):
        before = perf_counter()
        work()
        times.append(perf_counter() - before)
    return 1000 * min(times)


def main() -> int:
    """Compare both routes at every score; 0 if each is at least FLOOR times faster and agrees."""
    dice = np.random.default_rng(2024)
    serve, ret = dice.uniform(0.45, 0.8, PAIRS), dice.uniform(0.2, 0.55, PAIRS)
    numbers = serve.tolist(), ret.tolist()
    fmt, ratios, apart = Format(), [], 0.0
    for sets, games, points, server in SCORES:
        state = State(fmt, sets, games, points, server)  # type: ignore[arg-type]
        plain: list[float] = []
        slow = milliseconds(partial(price_one_by_one, plain, state, *numbers), 1)
        fast = milliseconds(partial(win_chance, fmt, state, serve, ret), REPEATS)
        hundred = milliseconds(partial(win_chance, fmt, state, serve[:100], ret[:100]), REPEATS)
        apart = max(apart, float(np.abs(win_chance(fmt, state, serve, ret) - plain).max()))
        ratios.append(slow / fast)
        print(
            f"sets {sets} games {games} points {points}: plain {slow:.0f} ms, vectorised {fast:.3f} ms "
            f"({hundred:.3f} ms for 100 pairs), {slow / fast:.0f} times faster"
        )
    print(f"ratio {min(ratios):.0f} at the least favourable score; largest disagreement {apart:.1e}")
    return 0 if min(ratios) >= FLOOR and apart <= AGREE else 1


if __name__ == "__main__":
    sys.exit(main())
