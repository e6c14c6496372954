"""Compute the chance of winning a match from any score, and the importance of each point.

The chance is exact if points are independent given the server, which is nearly true (Klaassen & Magnus 2001, JASA
96:500-509, abstract seen). The importance of a point is P(win if won) - P(win if lost) (Morris 1977; the definition was
seen as quoted elsewhere). If point chances are uncertain, the mean chance differs from the chance at their mean: for
Beta(37, 23) on serve it is 0.7546, not 0.7694 (recomputed).
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv

from tacticapi.scoring.formats import SIDES, Format, Pair, SetRule, Side, TieBreak, other
from tacticapi.scoring.games_and_sets import (
    CERTAIN,
    Chance,
    EndWorth,
    Fork,
    game_chance,
    game_fork,
    set_fork,
    tie_break_fork,
)
from tacticapi.scoring.score import FORTY, GAME_CALLS, State

_ADVANTAGES: Final[tuple[Pair, Pair]] = ((FORTY + 1, FORTY), (FORTY, FORTY + 1))


class Chances(NamedTuple):
    """Your chances as forks over the next point and, for set and match, also over the whole current game."""

    game: Fork
    set: Fork
    match: Fork
    set_by_game: Fork
    match_by_game: Fork

    def map(self, change: Callable[[Chance], Chance]) -> "Chances":
        """Return the chances with `change` applied to every array."""
        return Chances(*(Fork(*map(change, fork)) for fork in self))


class MatchModel:
    """All chances in a match, for any number of pairs of point chances (on own serve, on return) at once.

    Raises ValueError for chances outside [0, 1].
    """

    def __init__(self, fmt: Format, serve: ArrayLike, ret: ArrayLike) -> None:
        own, opponent = _checked("serve", serve), _checked("ret", ret)
        self.format = fmt
        self.shape = np.broadcast_shapes(own.shape, opponent.shape)
        self._point: dict[Side, Chance] = {"own": own, "opponent": opponent}
        self._games: dict[Side, Chance] = {}
        breaks = [fmt.set_rule(index).tie_break for index in range(fmt.sets)]
        # a deciding point gives one player one more point on serve
        self._fair = not any(tie_break and tie_break.deciding_point for tie_break in breaks)
        self._tie_breaks: dict[tuple[TieBreak, Side], Chance] = {}
        self._sets: dict[SetRule, Chance] = {}
        self._matches: dict[tuple[Pair, Side], Chance] = {}

    def at(self, state: State) -> Chances:
        """Return the chances from a score; if the server is unknown, average over both."""
        if state.winner is not None:
            settled: Chance = np.full(self.shape, float(state.winner == "own"))
            over = Fork(settled, settled, settled)
            return Chances(over, over, over, over, over)
        if state.server is not None:
            return self._at_served(state).map(lambda chance: np.broadcast_to(chance, self.shape))
        first, second = (self.at(replace(state, server=side)) for side in SIDES)
        return Chances(
            *(Fork(*((a + b) / 2.0 for a, b in zip(*pair, strict=True))) for pair in zip(first, second, strict=True))
        )

    def match_chance(self, sets_won: Pair, first_server: Side = "own") -> Chance:
        """Return your chance of winning the match from the start of a set, by sets won and the set's first server."""
        own, opponent = sets_won
        if max(own, opponent) == self.format.sets_to_win:
            return float(own > opponent)
        key = (sets_won, "own" if self._fair else first_server)
        if key not in self._matches:
            rule = self.format.set_rule(own + opponent)
            if self._fair:
                win, loss = self.match_chance((own + 1, opponent)), self.match_chance((own, opponent + 1))
                self._matches[key] = loss + self._set_chance(rule) * (win - loss)
            else:
                stakes = self._stakes(sets_won, first_server)
                self._matches[key] = self._set_fork(rule, (0, 0), first_server, stakes).now
        return self._matches[key]

    def unit_fork(self, state: State) -> Fork:
        """Return your fork over the next point of the current game or tie-break; the server must be known."""
        server = state.first_server_of_game
        if server is None:
            raise ValueError("the fork of one game needs its server")
        if state.in_tie_break and state.rule.tie_break is not None:
            by_first, by_second = self._point[server], self._point[other(server)]
            return tie_break_fork(state.rule.tie_break, state.points, by_first, by_second)
        return game_fork(self._point[server], state.points, no_ad=self.format.no_ad)

    def _at_served(self, state: State) -> Chances:
        unit = self.unit_fork(state)
        set_step = self._from_games(state, unit, CERTAIN)
        if self._fair:
            own, opponent = state.sets_won
            win, loss = self.match_chance((own + 1, opponent)), self.match_chance((own, opponent + 1))
            match_step = set_step.within(Fork(loss, win, loss))
        else:
            match_step = self._from_games(state, unit, self._stakes(state.sets_won, state.first_server_of_set or "own"))
        this_set, match = unit.within(set_step), unit.within(match_step)
        return Chances(unit, this_set, match, set_step._replace(now=this_set.now), match_step._replace(now=match.now))

    def _from_games(self, state: State, unit: Fork, stakes: EndWorth) -> Fork:
        first = state.first_server_of_set or "own"
        if state.in_tie_break:
            return Fork(stakes.blend(unit.now, 1), stakes.won[1], stakes.lost[1])
        return self._set_fork(state.rule, state.games, first, stakes)

    def _set_fork(self, rule: SetRule, games: Pair, first: Side, stakes: EndWorth = CERTAIN) -> Fork:
        tie_break = 0.0 if rule.tie_break is None else self._tie_break_chance(rule.tie_break, first)
        by_first, by_second = self._game_chance(first), self._game_chance(other(first))
        return set_fork(rule, games, by_first, by_second, tie_break, stakes=stakes)

    def _set_chance(self, rule: SetRule) -> Chance:
        # From the start of the set; only valid if it does not matter who serves first.
        if rule not in self._sets:
            self._sets[rule] = self._set_fork(rule, (0, 0), "own").now
        return self._sets[rule]

    def _game_chance(self, server: Side) -> Chance:
        if server not in self._games:
            self._games[server] = game_chance(self._point[server], no_ad=self.format.no_ad)
        return self._games[server]

    def _tie_break_chance(self, rule: TieBreak, first_server: Side) -> Chance:
        # An even number of games precedes it, so the set's first server serves first in its tie-break too.
        key = (rule, first_server if rule.deciding_point else "own")
        if key not in self._tie_breaks:
            by_first, by_second = self._point[key[1]], self._point[other(key[1])]
            self._tie_breaks[key] = tie_break_fork(rule, (0, 0), by_first, by_second).now
        return self._tie_breaks[key]

    def _stakes(self, sets_won: Pair, first: Side) -> EndWorth:
        own, opponent = sets_won
        servers = (first, other(first))
        won = [self.match_chance((own + 1, opponent), server) for server in servers]
        lost = [self.match_chance((own, opponent + 1), server) for server in servers]
        return EndWorth((won[0], won[1]), (lost[0], lost[1]))


def _checked(name: str, chances: ArrayLike) -> NDArray[np.float64]:
    array = np.asarray(chances, dtype=np.float64)
    if not ((array >= 0.0) & (array <= 1.0)).all():
        raise ValueError(f"{name} must contain chances from 0 to 1")
    return array


@dataclass(frozen=True, slots=True)
class Importance:
    """How much the next point matters in its game, set and match; all 0 once the match is decided."""

    game: Chance
    set: Chance
    match: Chance


def importance_table(fmt: Format, state: State, serve: ArrayLike, ret: ArrayLike) -> dict[str, Importance]:
    """Return every point's importance in the current game, by score. Raises ValueError if the server is unknown."""
    if state.winner is not None:
        return {}
    if state.server is None:
        raise ValueError("the importance of a whole game needs its server")
    model = MatchModel(fmt, serve, ret)
    chances = model.at(state)
    in_set, in_match = chances.set_by_game.importance, chances.match_by_game.importance
    tie_break = state.rule.tie_break if state.in_tie_break else None
    counts = range(tie_break.points if tie_break else FORTY + 1)
    table = {}
    for own, opponent in [*product(counts, counts), *(() if tie_break or fmt.no_ad else _ADVANTAGES)]:
        step = np.broadcast_to(model.unit_fork(state.with_points((own, opponent))).importance, model.shape)
        score = f"{own}-{opponent}" if tie_break else f"{GAME_CALLS[own]}-{GAME_CALLS[opponent]}"
        table[score] = Importance(step, step * in_set, step * in_match)
    return table


BetaPair = tuple[float, float]

_NODES_BY_WEIGHT: Final = ((20.0, 20), (10.0, 40), (0.0, 64))
_NEAR_CERTAIN: Final = 4.0
_NODES_NEAR_CERTAIN: Final = 150
QUANTILE_CELLS: Final = 64
PERCENTILES: Final = (0.1, 0.9)


@lru_cache(maxsize=512)
def beta_nodes(a: float, b: float, n: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return nodes and weights of Gauss-Jacobi quadrature over Beta(a, b), exact below degree 2n. Raises ValueError."""
    if not (0.0 < a < np.inf and 0.0 < b < np.inf) or n < 1:
        raise ValueError(f"Beta({a}, {b}) with {n} nodes: a and b must be positive, n at least 1")
    # The recurrence of the monic Jacobi polynomials with exponents b - 1 and a - 1 (Golub & Welsch 1969, from memory);
    # scipy's roots_jacobi overflows once a + b is in the tens of thousands, as it can be with a long history.
    k = np.arange(1.0, n)
    total, twice = a + b, 2.0 * k + a + b - 2.0
    diagonal = np.concatenate(([(a - b) / total], (a - b) * (total - 2.0) / (twice * (twice + 2.0))))
    first = np.where(k == 1.0, 1.0, (k + total - 2.0) / np.where(k == 1.0, 1.0, twice - 1.0))
    squared = 4.0 * k * (k + a - 1.0) * (k + b - 1.0) * first / (twice**2 * (twice + 1.0))
    beside = np.sqrt(squared)
    roots, vectors = np.linalg.eigh(np.diag(diagonal) + np.diag(beside, 1) + np.diag(beside, -1))
    nodes, weights = np.clip((1.0 + roots) / 2.0, 0.0, 1.0), vectors[0] ** 2
    nodes.flags.writeable = weights.flags.writeable = False
    return nodes, weights


def nodes_needed(a: float, b: float) -> int:
    """Return how many nodes bring a mean chance within 1e-5 of that with 300 nodes; near certainty, many are needed."""
    if min(a, b) < _NEAR_CERTAIN:
        return _NODES_NEAR_CERTAIN
    return next(nodes for least, nodes in _NODES_BY_WEIGHT if a + b >= least)


def expected(
    fmt: Format, state: State, serve_beta: BetaPair, return_beta: BetaPair, nodes: int | None = None
) -> Chances:
    """Return the chances from a score, averaged over the Beta(a, b) posteriors of both point chances."""
    serve, ret, mean = _averaged(serve_beta, return_beta, nodes)
    return MatchModel(fmt, serve, ret).at(state).map(mean)


def expected_importance(
    fmt: Format, state: State, serve_beta: BetaPair, return_beta: BetaPair, nodes: int | None = None
) -> dict[str, Importance]:
    """Return the importance of every point in the game, averaged as in `expected`; see `importance_table`."""
    serve, ret, mean = _averaged(serve_beta, return_beta, nodes)
    table = importance_table(fmt, state, serve, ret)
    return {score: Importance(mean(of.game), mean(of.set), mean(of.match)) for score, of in table.items()}


def _averaged(
    serve_beta: BetaPair, return_beta: BetaPair, nodes: int | None
) -> tuple[NDArray[np.float64], NDArray[np.float64], Callable[[Chance], float]]:
    """Return point chances at both posteriors' nodes, and a function that averages a chance over all pairs."""
    serve, serve_share = beta_nodes(*serve_beta, nodes or nodes_needed(*serve_beta))
    ret, return_share = beta_nodes(*return_beta, nodes or nodes_needed(*return_beta))

    def mean(chance: Chance) -> float:
        return float(serve_share @ np.asarray(chance) @ return_share)

    return serve[:, np.newaxis], ret, mean


def percentiles(fmt: Format, state: State, serve_beta: BetaPair, return_beta: BetaPair) -> tuple[Chances, Chances]:
    """Return the 10th and 90th percentiles of each chance over both posteriors, treating each chance separately.

    Each posterior is cut into QUANTILE_CELLS equal parts; in our checks, the match chance was off by at most 0.0053.
    """
    middles = (np.arange(QUANTILE_CELLS) + 0.5) / QUANTILE_CELLS
    serve, ret = (betaincinv(a, b, middles) for a, b in (serve_beta, return_beta))
    spread = MatchModel(fmt, serve[:, np.newaxis], ret).at(state)
    low, high = (
        spread.map(lambda chance, level=level: float(np.quantile(chance, level, method="hazen")))  # type: ignore[misc]
        for level in PERCENTILES
    )
    return low, high
