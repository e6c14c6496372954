"""Estimate a player's profile: the qualities, from all observations together, and the remaining uncertainty.

There are two profiles: the opponent's, from everything seen, and our own player's, where ratings set the prior means
and the record supplies the counts. A quality is a standard normal variable times its spread at the player's level.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from tacticapi.domain.reasoning import Estimate
from tacticapi.domain.rules import USUAL_LEVEL, Level, Loads, Measure, ObservationKind, Rulebook
from tacticapi.domain.situation import Earlier, Observation, Phase, Way, Wing
from tacticapi.evidence.entries import COUNTED, Pool
from tacticapi.evidence.gaussian import NODES, WEIGHTS, Array, Posterior, Rows, centre, posterior

MIDDLE: Final = 2.0  # the rating of the usual player
NEAR_MIDDLE: Final = 0.3  # steps within which a word says that a player is much like the usual one
CUT: Final = 2.5  # amounts are clipped at this many steps of the rating scale
TENTH: Final = 1.2816  # standard deviations from the middle of a normal to its 10th and 90th percentile
OWN_SUBJECTS: Final = frozenset({"own", "record"})
OPPONENT, OWN = "opponent", "own"
Dim = tuple[str, Wing | None]
ENDS: Final[Mapping[str, Loads]] = {"north": {"ends": 0.5}, "south": {"ends": -0.5}}
"""What misses at an end also measure: one end compared with the other."""


class Latent:
    """The latent values of one level: their order, spreads, and loads as vectors."""

    def __init__(self, rulebook: Rulebook, level: Level) -> None:
        self.level = level
        self.dims: list[Dim] = [(q.id, wing) for q in rulebook.qualities.values() for wing in q.wings]
        self.place = {dim: place for place, dim in enumerate(self.dims)}
        self.spreads = np.array([rulebook.qualities[name].spread[level] for name, _ in self.dims])
        self.carry_over = np.array([rulebook.qualities[name].carry_over for name, _ in self.dims])
        self._qualities = rulebook.qualities
        self._vectors: dict[tuple[tuple[tuple[str, float], ...], Wing | None], Array] = {}
        self._read: dict[tuple[str, Wing | None, str | None], list[Reading]] = {}

    def summed(self, measure: Measure, wing: Wing | None) -> tuple[Array, float]:
        """Return a measure's loads as a vector, and the sum's standard deviation between players."""
        vector = self.vector(measure.loads, wing)
        return vector, float(np.sqrt(vector @ vector))

    def readings(self, pool: Pool) -> "list[Reading]":
        """Return the measures that apply to a pool, cached by kind, wing and serve."""
        key = (pool.kind.id, pool.wing, pool.serve)
        if key not in self._read:
            self._read[key] = [self._reading(one, pool) for one in pool.kind.measures if _reads(one, pool)]
        return self._read[key]

    def _reading(self, measure: Measure, pool: Pool) -> "Reading":
        loads, spread = self.summed(measure, pool.wing)
        counts = measure.usual and measure.way in (None, *COUNTED)
        usual = centre(measure.usual[self.level], spread) if counts else None
        miscounted = self.level is not Level.TOUR and pool.kind.subject != "record"
        graded = not measure.options and measure.way not in COUNTED
        return Reading(measure, pool.wing or _wing_of(measure), loads, spread, usual, miscounted, graded)

    def vector(self, loads: Loads, wing: Wing | None) -> Array:
        """Return a sum as a vector in units of the latent values; its length is its standard deviation between players.

        A quality with wings counts for `wing` (half for each if that is None), unless its key names the wing.
        """
        key = (tuple(loads.items()), wing)
        if key not in self._vectors:
            raw = np.zeros(len(self.dims))
            for name, load in loads.items():
                for dim, part in self._dims_of(name, wing):
                    raw[self.place[dim]] += load * part
            self._vectors[key] = raw * self.spreads
        return self._vectors[key]

    def _dims_of(self, name: str, wing: Wing | None) -> Iterator[tuple[Dim, float]]:
        quality, _, side = name.partition("/")
        if not self._qualities[quality].has_wings:
            yield (quality, None), 1.0
        elif side:
            yield (quality, (wing.other if wing else None) if side == "other" else Wing(side)), 1.0
        elif wing:
            yield (quality, wing), 1.0
        else:
            yield from (((quality, one), 0.5) for one in Wing)


DEPARTURE_DIGITS = 6  # so that rounding noise does not decide the order


class Reading(NamedTuple):
    """A measure applied to pools at one level; `usual` is the centre of a count in log-odds, or None."""

    measure: Measure
    wing: Wing | None
    loads: Array
    spread: float
    usual: float | None
    miscounted: bool
    graded: bool


@dataclass(frozen=True, slots=True)
class Shown:
    """The kind of count that shows a quality best: its measure, its wing, and what its share means."""

    kind: ObservationKind
    measure: Measure
    wing: Wing | None
    says: str = field(init=False)

    def __post_init__(self) -> None:
        options = f": {' or '.join(self.measure.options)}" if self.measure.options else ""
        serve = f", {self.measure.serve}" if self.measure.serve else ""
        object.__setattr__(self, "says", f"{self.kind.says}{options}{serve}")

    def counted(self, pools: Iterable[Pool]) -> tuple[float, float]:
        """Return (hits, chances) for this kind of count on this wing in this match."""
        read = [
            pool.counts(self.measure.options, self.measure.court, self.measure.way)
            for pool in pools
            if self.wing in (None, pool.wing) and _reads(self.measure, pool) and pool.earlier is None
        ]
        return sum(hits for hits, _ in read), sum(chances for _, chances in read)


@dataclass(slots=True)
class Row:
    """One pooled count or reading for `gaussian.Rows`. Rows in the same `group` share an offset."""

    pool: Pool
    loads: Array
    mu: float
    own: float
    hits: float
    chances: float
    noise: float
    group: tuple[str, Any] | None = None
    shared: float = 0.0


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted profile: the rows, their posterior (None without rows), the prior means."""

    latent: Latent
    rows: Sequence[Row]
    posterior: Posterior | None
    start: Array

    def of(self, sums: Array) -> tuple[Array, Array, Array]:
        """Return the means, variances and links (sums, rows) of loaded sums, (sums, latent values)."""
        if self.posterior is None:
            return sums @ self.start, np.maximum(np.vecdot(sums, sums), 1e-12), np.zeros((len(sums), 0))
        means, variances, weighed = self.posterior.of(sums)
        return means + sums @ self.start, variances, weighed


class ProfileModel:
    """Fits a player's profile to pools, using one rulebook."""

    def __init__(self, rulebook: Rulebook) -> None:
        self.rulebook = rulebook
        figures = rulebook.defaults["profile"]
        self.rating_spread = float(figures["rating"]["spread"])
        self._rating_noise = float(figures["rating"]["noise"]) ** 2
        self._word_weight, self._word_slope = (float(figures["word"][name]) for name in ("weight", "slope"))
        self._tau: Mapping[str, float] = figures["tau"]
        self._graded = int(rulebook.defaults["evidence"]["graded_entries"])
        self.latents = {level: Latent(rulebook, level) for level in Level}
        usual = self.latents[USUAL_LEVEL]
        self._rated = {
            kind.key: np.flatnonzero(usual.vector(kind.measures[0].loads, None)).tolist()
            for kind in rulebook.kinds.values()
            if kind.subject == "own" and kind.measures
        }
        self._habits = {
            kind.id
            for kind in rulebook.kinds.values()
            if kind.measures and rulebook.qualities[[*kind.measures[0].loads][-1].partition("/")[0]].habit
        }
        self._tables: dict[tuple[Level, str], _Table] = {}
        self._shown = {player: _shown(rulebook.kinds.values(), usual, player) for player in (OPPONENT, OWN)}

    def fit(
        self, pools: Iterable[Pool], level: Level, *, nervous: bool, ratings: Mapping[str, Any] | None = None
    ) -> Fit:
        """Fit a player's profile at this level.

        nervous: the warm-up showed nerves, so its counts weigh less. ratings: our own, keyed by the part of the id
        after the dot, used as prior means.
        """
        latent = self.latents[level]
        start = np.zeros(len(latent.dims))
        for name, rating in (ratings or {}).items():
            if name in self._rated and isinstance(rating, int | float):
                start[self._rated[name]] = (rating - MIDDLE) / self.rating_spread
        counted = _kept(pools, self._habits)
        rows = [row for pool in counted for row in self._rows(pool, latent, nervous)]
        rows = [self._carried(row, row.pool.earlier, latent) if row.pool.earlier else row for row in rows]
        return Fit(latent, rows, posterior(_laid_out(rows, start)) if rows else None, start)

    def _rows(self, pool: Pool, latent: Latent, nervous: bool) -> Iterator[Row]:
        early = pool.phase is Phase.WARM_UP
        tau = self._tau["nervous_warm_up" if nervous else "warm_up"]
        before_change = 0.0 if pool.current else self._tau["before_change"] ** 2
        for reading in latent.readings(pool):
            measure, wing, loads, own = reading.measure, reading.wing, reading.loads, before_change
            if measure.ends and pool.end:
                loads = loads + latent.vector(ENDS[pool.end], None)
            if reading.usual is not None:
                hits, chances = (
                    pool.largest() if measure.largest else pool.counts(measure.options, measure.court, measure.way)
                )
                if chances:
                    own += self._tau["miscount"] ** 2 if reading.miscounted else 0.0
                    shared = tau * tau if early else 0.0
                    group = ("warm-up", wing) if early and wing else None
                    room = own + (0.0 if group else shared)
                    yield Row(pool, loads, reading.usual, room, hits, chances, 0.0, group, shared)
            if reading.graded and pool.graded:
                doubt = tau / self._tau["warm_up"] if early else 1.0
                yield from self._readings(measure, pool, (loads, reading.spread), latent.level, own=own, doubt=doubt)

    def _carried(self, row: Row, earlier: Earlier, latent: Latent) -> Row:
        """Return a row for an earlier match: a share rho of its variance is due to the person, the rest to that day.

        A match's sum is rho . x + the person's remainder + the day's effect. Matches share the first two terms; a
        single match has load rho and an offset variance of (1 - rho^2) . spread^2.
        """
        variance = float(row.loads @ row.loads)
        rho = earlier.weight * float(row.loads @ (row.loads * latent.carry_over)) / variance
        day = (1.0 - rho) * variance + (0.0 if row.group is None else row.shared)
        group = ("person", row.loads.tobytes())
        return replace(row, loads=rho * row.loads, own=row.own + day, group=group, shared=rho * (1.0 - rho) * variance)

    def _readings(
        self, measure: Measure, pool: Pool, summed: tuple[Array, float], level: Level, *, own: float, doubt: float
    ) -> Iterator[Row]:
        """Yield one row for the mean of ratings and amounts, in steps of the rating scale, and one row for words."""
        loads, slope = summed[0], self.rating_spread / summed[1]
        measured: list[float] = []
        words: list[float] = []
        for seen in pool.graded:
            if measure.way not in (None, seen.way) or measure.court not in (None, seen.court):
                continue
            if seen.rating is not None:
                measured.append(seen.rating - MIDDLE)
            elif (step := _step(measure, seen, level)) is not None:
                (words if seen.amount is None else measured).append(step)
        if measured:
            variance = self._rating_noise * doubt * doubt / min(len(measured), self._graded) + own * slope * slope
            yield Row(pool, loads * slope, 0.0, 0.0, sum(measured) / len(measured), 0.0, variance)
        if words:
            scale = self._word_weight * min(1.0, self._graded / len(words)) / (doubt * doubt)
            hits, chances = (scale * sum(part) for part in zip(*map(_as_chances, words), strict=True))
            room = own * (slope * self._word_slope) ** 2
            yield Row(pool, loads * (slope * self._word_slope), 0.0, room, hits, chances, 0.0)

    def estimates(self, fit: Fit, player: str) -> list[tuple[float, Estimate]]:
        """Estimate every observed quality as a share, with its departure from the usual in standard deviations."""
        if fit.posterior is None:
            return []
        table = self._table(fit.latent, player)
        chosen = np.flatnonzero(np.any(fit.posterior.loads[:, table.places], axis=0))
        means, variances, _ = fit.of(table.sums[chosen])
        deviations = np.sqrt(variances)
        at = table.centres[chosen] + means
        sides = expit(at[:, np.newaxis] + deviations[:, np.newaxis] * np.array([-TENTH, TENTH]))
        estimates = expit(at[:, np.newaxis] + deviations[:, np.newaxis] * NODES) @ WEIGHTS
        pools: dict[str, dict[int, Pool]] = {}
        for row in fit.rows:
            pools.setdefault(row.pool.kind.id, {})[id(row.pool)] = row.pool
        departures = (-np.abs(means) / deviations).round(DEPARTURE_DIGITS).tolist()
        found = []
        told = zip(chosen.tolist(), sides.tolist(), estimates.tolist(), departures, strict=True)
        for place, (low, high), estimate, departure in told:
            (quality, wing), one, usual = table.shown[place]
            counted = one.counted(pools[one.kind.id].values()) if one.kind.id in pools else (0.0, 0.0)
            made = Estimate(quality, player, wing, one.kind.id, one.says, usual, estimate, low, high, *counted)
            found.append((departure, made))
        return found

    def _table(self, latent: Latent, player: str) -> "_Table":
        if (latent.level, player) not in self._tables:
            shown = [(i, one, latent.summed(one.measure, one.wing)) for i, one in self._shown[player].items()]
            usual = [one.measure.usual[latent.level] for _, one, _ in shown]
            self._tables[latent.level, player] = _Table(
                np.array([i for i, _, _ in shown]),
                np.array([vector for _, _, (vector, _) in shown]),
                np.array([centre(share, spread) for share, (_, _, (_, spread)) in zip(usual, shown, strict=True)]),
                [(latent.dims[i], one, share) for (i, one, _), share in zip(shown, usual, strict=True)],
            )
        return self._tables[latent.level, player]


class _Table(NamedTuple):
    """The counts that show each quality at one level: positions of latent values, sums, usual log-odds, and labels."""

    places: NDArray[np.intp]
    sums: Array
    centres: Array
    shown: Sequence[tuple[Dim, Shown, float]]


def _shown(kinds: Iterable[ObservationKind], latent: Latent, player: str) -> dict[int, Shown]:
    """Return, for each latent value, the first kind of count in games whose last load is that value."""
    found: dict[int, Shown] = {}
    counts = [
        (kind, measure)
        for kind in kinds
        if (kind.subject == "record" if player == OWN else kind.subject not in OWN_SUBJECTS)
        and Phase.GAMES in kind.phases
        for measure in kind.measures
        if measure.usual
    ]
    for kind, measure in sorted(counts, key=lambda count: bool(count[1].options)):
        quality, _, side = [*measure.loads][-1].partition("/")
        for wing in (None, *Wing):
            fixed = Wing(side) if side in ("forehand", "backhand") else wing
            place = latent.place.get((quality, fixed))
            if place is not None:
                found.setdefault(place, Shown(kind, measure, None if side else wing))
    return dict(sorted(found.items()))


def _kept(pools: Iterable[Pool], habits: Collection[str]) -> list[Pool]:
    """Drop pools of habits from before a change of play if the habit has been measured again since."""
    found = list(pools)
    old = {p.kind.id for p in found if not p.current and p.kind.id in habits}
    since = {
        (p.kind.id, p.wing)
        for p in found
        if p.kind.id in old and p.current and not p.earlier
        if p.chances or any(seen.amount is not None for seen in p.graded)
    }
    return [p for p in found if p.current or (p.kind.id, p.wing) not in since]


def _reads(measure: Measure, pool: Pool) -> bool:
    """Report whether the measure applies to this pool. An unnamed serve counts as a first serve."""
    return measure.serve is None or measure.serve == (pool.serve or "first")


def _wing_of(measure: Measure) -> Wing | None:
    sides = {name.partition("/")[2] for name in measure.loads} - {""}
    return Wing(sides.pop()) if len(sides) == 1 else None


def _step(measure: Measure, seen: Observation, level: Level) -> float | None:
    """Return a word, a sign or an amount in steps from the middle of the rating scale; None if it reveals nothing."""
    if seen.way is Way.VALUE:
        return measure.words.get(str(seen.value))
    if seen.way is Way.AMOUNT and measure.amount is not None and seen.amount is not None:
        usual, step = measure.amount
        return max(-CUT, min(CUT, (seen.amount - usual[level]) / step))
    if seen.way in (Way.SEEN, Way.TEXT) and measure.seen is not None:
        return measure.seen[seen.seen is False]
    return None


def _as_chances(step: float) -> tuple[float, float]:
    """Return a word as (hits, chances): all in one direction, or half in each for a word that means "as usual"."""
    if abs(step) < NEAR_MIDDLE:
        return 0.25 + step / 2, 0.5
    return max(step, 0.0), abs(step)


def _laid_out(rows: Sequence[Row], start: Array) -> Rows:
    loads = np.array([row.loads for row in rows])
    mu, own, hits, chances, noise = np.array(
        [(row.mu, row.own, row.hits, row.chances, row.noise) for row in rows], dtype=np.float64
    ).T
    groups = {row.group: place for place, row in enumerate({row.group: row for row in rows if row.group}.values())}
    shared = np.zeros((len(rows), len(groups)))
    for place, row in enumerate(rows):
        if row.group:
            shared[place, groups[row.group]] = np.sqrt(row.shared)
    return Rows(loads, mu + loads @ start, own, hits, chances, noise, shared)
