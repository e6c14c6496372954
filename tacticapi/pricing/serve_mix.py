"""Compute the best serve mix from counts on each side of the court, its uncertainty, and an unpredictable order.

The game matrix is the server's chance of winning the point, by spot and by where the receiver leans. A serve wins
`lean_effect` more often against a receiver who leans elsewhere. Each chance has its own Beta posterior, updated by the
serves noted with that lean. Because the effect is the same for every spot, spots worth mixing get equal shares until
leans are noted. Some best mix equalises a square sub-game (Shapley & Snow 1950, from memory), so the best of the
equalising mixes of all square sub-games is exact.
"""

import random
import secrets
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations, product
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tacticapi.pricing.predictability import ShareAfter, Verdict, judge_by_score, judge_sequence, share_after

_SINGULAR = 1e-12
_NEGATIVE = -1e-12
_TIE = 1e-12  # if mixes guarantee the same up to rounding, the one with the fewest rows is taken

Places = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """Both players' best mixes (shares that sum to 1) and the value of the game, in the unit of its entries."""

    mix_row: tuple[float, ...]
    mix_col: tuple[float, ...]
    value: float


def solve(matrix: ArrayLike) -> Solution:
    """Solve one game. If several mixes are best, always return the same one."""
    game = np.asarray(matrix, dtype=float)
    row, col = best_mixes(game[np.newaxis])[0], best_mixes(-game.T[np.newaxis])[0]
    return Solution(tuple(row.tolist()), tuple(col.tolist()), float(row @ game @ col))


def guaranteed(matrix: ArrayLike, row_mix: ArrayLike) -> float:
    """Return what a mix of rows yields against a column player who knows it and plays the best response."""
    return float((np.asarray(row_mix) @ np.asarray(matrix)).min())


def exploitability(matrix: ArrayLike, row_mix: ArrayLike) -> float:
    """Return how much a column player who knows the row mix can win beyond the game's value; 0 for a best mix."""
    return max(0.0, solve(matrix).value - guaranteed(matrix, row_mix))


def best_mixes(games: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the best row mixes, shape (number of games, rows), for games of shape (number of games, rows, columns)."""
    mixes = np.zeros(games.shape[:2])
    most = np.full(len(games), -np.inf)
    for rows, cols in _kernels(*games.shape[1:]):
        candidate = _equalising(games, rows, cols)
        yields = np.einsum("gr,grc->gc", candidate, games).min(axis=1)
        better = (candidate.min(axis=1) >= _NEGATIVE) & (candidate.sum(axis=1) > 0.5) & (yields > most + _TIE)
        mixes[better], most[better] = candidate[better], yields[better]
    positive = np.maximum(mixes, 0.0)
    return np.asarray(positive / positive.sum(axis=1, keepdims=True))


@lru_cache(maxsize=16)
def _kernels(rows: int, cols: int) -> tuple[tuple[Places, Places], ...]:
    return tuple(
        kernel
        for size in range(1, min(rows, cols) + 1)
        for kernel in product(combinations(range(rows), size), combinations(range(cols), size))
    )


def _equalising(games: NDArray[np.float64], rows: Places, cols: Places) -> NDArray[np.float64]:
    """Return the mixes of `rows` that yield the same against all `cols`; all zeros if there is no unique mix."""
    size, number = len(rows), len(games)
    mixes = np.zeros(games.shape[:2])
    if size == 1:
        mixes[:, rows[0]] = 1.0
        return mixes
    system = np.zeros((number, size + 1, size + 1))
    system[:, :size, :size] = games[:, rows][:, :, cols].transpose(0, 2, 1)
    system[:, :size, size], system[:, size, :size] = -1.0, 1.0
    solvable = np.abs(np.linalg.det(system)) > _SINGULAR
    right = np.zeros((int(solvable.sum()), size + 1, 1))
    right[:, size] = 1.0
    mixes[np.ix_(solvable, rows)] = np.linalg.solve(system[solvable], right)[:, :size, 0]
    return mixes


_EDGE = 0.01  # no chance is assumed closer to 0 or 1 than this

Array = NDArray[np.float64]
DRAWS: Final = 1000
SEED: Final = 0
SERVES: Final = 10  # serves planned ahead
PERCENTILES: Final = (0.1, 0.9)
Server = Literal["own", "opponent"]
_WIDE: Final = 0.4  # a best share with a range at least this wide is not known yet
_UNMIXED: Final = 0.05  # the share assumed for a spot that the mix leaves out


@dataclass(frozen=True, slots=True)
class Serves:
    """Points won on serves aimed at one spot (0 <= won <= of), all first or all second serves."""

    won: float
    of: float


NONE = Serves(0, 0)


@dataclass(frozen=True, slots=True)
class SpotCounts:
    """Counts on one side of the court; `spots` (2 to 4 names) sets the order of all results.

    `serves`: serves for which the receiver's lean was not noted; `by_lean[spot][lean]`: serves for which it was.
    `leans`: how often the receiver leaned to each spot; a neutral stance counts a fraction for each. A missing entry
    means not counted.
    """

    spots: tuple[str, ...]
    serves: Mapping[str, Serves] = field(default_factory=dict)
    leans: Mapping[str, float] = field(default_factory=dict)
    by_lean: Mapping[str, Mapping[str, Serves]] = field(default_factory=dict)

    @property
    def served(self) -> tuple[float, ...]:
        """Return all serves to each spot, whether or not the lean was noted."""
        return tuple(
            self.serves.get(spot, NONE).of + sum(cell.of for cell in self.by_lean.get(spot, {}).values())
            for spot in self.spots
        )

    @property
    def leaned(self) -> float:
        """Return how many leans were counted."""
        return float(sum(self.leans.values()))


@dataclass(frozen=True, slots=True)
class MixModel:
    """The assumptions used if nothing was counted. All numbers are model defaults; none has been measured.

    `prior_share`: share of points won on a serve to any spot (0 to 1), worth `prior_serves` serves per spot.
    `lean_effect`: how much more often a serve wins if the receiver leans elsewhere than if they lean towards it (0 to
    1), worth `effect_serves` serves for each spot and lean. `lean_serves`: the prior, leaning equally to every spot, is
    worth this many counted leans. `stays`: chance that a receiver whose lean is fully known keeps to it instead of
    adapting (0 to 1). `least_share`: no spot gets a smaller share, so that each must be covered (0 to 1 / number of
    spots).
    """

    prior_share: float
    prior_serves: float
    lean_effect: float
    effect_serves: float
    lean_serves: float
    stays: float
    least_share: float


@dataclass(frozen=True, slots=True)
class PointGame:
    """Chances of winning the point, shape (..., spots, leans), and of each lean, shape (..., leans)."""

    chances: Array
    leaning: Array


class PointBeliefs:
    """The posterior given the counts on one side of the court."""

    def __init__(self, counts: SpotCounts, model: MixModel) -> None:
        spots = counts.spots
        self._model = model
        self._same = np.eye(len(spots))
        leans = np.array([counts.leans.get(spot, 0.0) for spot in spots])
        self._leans = leans + model.lean_serves / len(spots)
        rows = np.array([(s.won, s.of - s.won) for s in (counts.serves.get(spot, NONE) for spot in spots)])
        at_leaning = model.prior_share + model.lean_effect * (1.0 / len(spots) - self._leans / self._leans.sum())
        usual = np.clip(at_leaning, _EDGE, 1.0 - _EDGE)
        self._won = rows[:, 0] + model.prior_serves * usual
        self._lost = rows[:, 1] + model.prior_serves * (1.0 - usual)
        noted = [[counts.by_lean.get(spot, {}).get(lean, NONE) for lean in spots] for spot in spots]
        self._cell_won = np.array([[cell.won for cell in row] for row in noted], dtype=float)
        self._cell_lost = np.array([[cell.of - cell.won for cell in row] for row in noted], dtype=float)
        self.trust = model.stays * counts.leaned / (counts.leaned + model.lean_serves)

    def mean(self) -> PointGame:
        """Return the posterior mean of each chance and of the lean (exact, but clipped to 0.01 and 0.99)."""
        leaning = self._leans / self._leans.sum()
        prior = self._structure(self._won / (self._won + self._lost), leaning)
        weight = self._model.effect_serves
        total = weight + self._cell_won + self._cell_lost
        return PointGame((weight * prior + self._cell_won) / total, leaning)

    def draws(self, number: int, dice: np.random.Generator) -> PointGame:
        """Return `number` independent draws from the posterior."""
        leaning = dice.dirichlet(self._leans, number)
        prior = self._structure(dice.beta(self._won, self._lost, (number, len(self._won))), leaning)
        weight = self._model.effect_serves
        won, lost = weight * prior + self._cell_won, weight * (1.0 - prior) + self._cell_lost
        return PointGame(dice.beta(won, lost), leaning)

    def played(self, game: PointGame) -> Array:
        """Return the game against a receiver who keeps to their lean with chance `trust`, given `least_share`."""
        kept = np.einsum("...sl,...l->...s", game.chances, game.leaning)[..., np.newaxis]
        against = self.trust * kept + (1.0 - self.trust) * game.chances
        least = self._model.least_share
        return np.asarray((1.0 - len(self._same) * least) * against + least * against.sum(axis=-2, keepdims=True))

    def with_least_share(self, free: Array) -> Array:
        """Return the spot shares that correspond to a mix of the rows of `played`."""
        least = self._model.least_share
        return least + (1.0 - len(self._same) * least) * free

    def _structure(self, share: Array, leaning: Array) -> Array:
        effect = self._model.lean_effect * (leaning[..., np.newaxis] - self._same)
        return np.clip(share[..., np.newaxis] + effect, _EDGE, 1.0 - _EDGE)


@dataclass(frozen=True, slots=True)
class SpotShare:
    """One spot of the mix: shares of serves and chances of winning the point, all from 0 to 1.

    `low`, `high`: 10th and 90th percentiles of the best share, widened to include `share`. `wins`: chance against the
    expected lean. `concedes`: how much less than the best spot wins. `if_always`: the cost of always serving there.
    """

    spot: str
    share: float
    low: float
    high: float
    wins: float
    concedes: float
    if_always: float


@dataclass(frozen=True, slots=True)
class MixAdvice:
    """The mix, its mean chance of winning the point with percentiles, and what it is based on.

    `floor`: the chance against a receiver who knows the mix. `trust`: weight of the counted lean. `past_gives`: how
    much the serves so far give away to a receiver who knows their shares (None without serves).
    """

    spots: tuple[SpotShare, ...]
    value: float
    value_low: float
    value_high: float
    floor: float
    trust: float
    past_gives: float | None

    @property
    def mix(self) -> dict[str, float]:
        """Return each spot's share."""
        return {spot.spot: spot.share for spot in self.spots}


def best_mix(counts: SpotCounts, model: MixModel) -> MixAdvice:
    """Return the mix that wins the most points on average over the posterior of the chances.

    What a mix yields against one lean is linear in the chances, so the best mix is the maximin of the mean matrix and
    needs no draws; with chance `trust`, the receiver instead leans as counted. Percentiles come from `DRAWS` posterior
    draws (PCG64 from `SEED`); the ends move from seed to seed by at most 0.03 for a share and 0.007 for the value
    (measured).
    """
    beliefs = PointBeliefs(counts, model)
    mean = beliefs.mean()
    solution = solve(beliefs.played(mean))
    mix = beliefs.with_least_share(np.array(solution.mix_row))
    leaning = beliefs.trust * mean.leaning + (1.0 - beliefs.trust) * np.array(solution.mix_col)
    drawn = beliefs.draws(DRAWS, np.random.Generator(np.random.PCG64(SEED)))
    bests = beliefs.with_least_share(best_mixes(beliefs.played(drawn)))
    value_low, value_high = np.quantile(np.einsum("s,dsl,l->d", mix, drawn.chances, leaning), PERCENTILES)
    served = np.array(counts.served)
    return MixAdvice(
        _spot_shares(counts.spots, mix, bests, mean.chances, leaning),
        float(mix @ mean.chances @ leaning),
        float(value_low),
        float(value_high),
        guaranteed(mean.chances, mix),
        beliefs.trust,
        exploitability(mean.chances, served / served.sum()) if served.sum() else None,
    )


def _spot_shares(
    spots: tuple[str, ...], mix: Array, bests: Array, chances: Array, leaning: Array
) -> tuple[SpotShare, ...]:
    low, high = np.quantile(bests, PERCENTILES, axis=0)
    wins, value = chances @ leaning, mix @ chances @ leaning
    columns = (mix, np.minimum(low, mix), np.maximum(high, mix), wins, wins.max() - wins, value - chances.min(axis=1))
    # rounded, so that equal spots stay equal and rounding errors do not count as conceded
    rows = np.column_stack(columns).round(12).tolist()
    return tuple(SpotShare(spot, *row) for spot, row in zip(spots, rows, strict=True))


def whole_serves(mix: Mapping[str, float]) -> dict[str, int]:
    """Split ten serves among the spots by largest remainder (equal remainders favour the earlier spot)."""
    # shares that differ only by rounding errors are equal; otherwise noise would break ties
    exact = {spot: round(SERVES * share, 9) for spot, share in mix.items()}
    whole = {spot: int(serves) for spot, serves in exact.items()}
    by_remainder = sorted(exact, key=lambda spot: whole[spot] - exact[spot])
    for spot in by_remainder[: SERVES - sum(whole.values())]:
        whole[spot] += 1
    return whole


def next_ten(mix: Mapping[str, float], seed: str | None) -> list[str]:
    """Return the spots for the next ten serves, each as often as `whole_serves` says, shuffled by the seed."""
    order = [spot for spot, serves in whole_serves(mix).items() for _ in range(serves)]
    dice = secrets.SystemRandom() if seed is None else random.Random(seed)
    dice.shuffle(order)
    return order


def _on_evidence(advice: MixAdvice, counts: SpotCounts) -> Iterator[str]:
    served = sum(counts.served)
    if not served:
        yield "No serves counted: the mix rests on model defaults alone."
    elif unsure := [spot.spot for spot in advice.spots if spot.high - spot.low >= _WIDE]:
        yield f"{served:g} serves counted: the best share of {', '.join(unsure)} is still open. Keep counting."
    if counts.leaned:
        yield f"{counts.leaned:g} leans counted: weight {advice.trust:.2f} on the receiver sticking to them."
    else:
        yield "No leans counted: the receiver is assumed to lean in the way that is worst for the mix."


def _on_shares(advice: MixAdvice, least_share: float) -> Iterator[str]:
    least = [spot.spot for spot in advice.spots if spot.concedes > 0.0 and spot.share <= least_share + 1e-9]
    if least_share > 0.0 and least:
        yield f"{', '.join(least)}: kept in the mix so that the receiver has to cover every spot."


def _on_sequence(verdict: Verdict | None, server: Server) -> Iterator[str]:
    if verdict is None:
        yield "No sequence of serves was posted, so there is no test of whether a pattern gives the server away."
        return
    served, needed, switching = verdict.served, verdict.needed, verdict.needed_for_switching
    if verdict.kind == "too-few":
        yield f"{served} serves in order: fewer than {needed} cannot show a pattern of any kind."
    elif verdict.kind == "no-sign":
        yield f"{served} serves in order: no sign of a pattern, which does not mean that there is none."
    elif verdict.kind == "favourite":
        yield f"{served} serves in order: {verdict.spot} came more often than the mix asks for."
    else:
        often = "often" if verdict.kind == "switches-too-often" else "seldom"
        who = "you change" if server == "own" else "your opponent changes"
        yield f"{served} serves in order: {who} spots too {often} to be hard to read."
    if switching and needed <= served < switching:
        yield f"It takes {switching} serves to show that spots change too often or too seldom."


@dataclass(frozen=True, slots=True)
class CourtServes:
    """The counts on one side of the court (deuce or ad), and the serves in the order played, if noted.

    `scores`: a tag for the score at which each serve of the sequence was hit, None if it has no tag.
    """

    court: str
    counts: SpotCounts
    sequence: tuple[str, ...] = ()
    scores: tuple[str | None, ...] = ()


@dataclass(frozen=True, slots=True)
class CourtMix:
    """The result for one side of the court; without a sequence, `verdict`, `by_score` and `after` are None or empty.

    `tenths`: serves out of ten by spot. `order`: the next ten serves. `notes`: plain sentences, most important first.
    """

    court: str
    advice: MixAdvice
    tenths: dict[str, int]
    order: tuple[str, ...]
    verdict: Verdict | None
    by_score: dict[str, Verdict]
    after: tuple[ShareAfter, ...]
    notes: tuple[str, ...]


def court_mix(one: CourtServes, model: MixModel, seed: int | None = None, server: Server = "own") -> CourtMix:
    """Return the mix for one side of the court, its order (from `seed`), and what past serves by `server` gave away."""
    advice, spots = best_mix(one.counts, model), one.sequence
    expected = _expected(advice.mix)
    verdict = judge_sequence(spots, expected) if spots else None
    return CourtMix(
        one.court,
        advice,
        whole_serves(advice.mix),
        tuple(next_ten(advice.mix, None if seed is None else f"{seed} {one.court}")),
        verdict,
        judge_by_score(spots, one.scores, expected) if one.scores else {},
        tuple(share_after(spots, spot) for spot in one.counts.spots) if spots else (),
        (*_on_evidence(advice, one.counts), *_on_shares(advice, model.least_share), *_on_sequence(verdict, server)),
    )


def _expected(mix: dict[str, float]) -> dict[str, float]:
    raised = {spot: max(share, _UNMIXED) for spot, share in mix.items()}
    total = sum(raised.values())
    return {spot: share / total for spot, share in raised.items()}
